/**
 * The loudness at which teacher and pupil are played, in LUFS: that of speech online, with headroom for peaks (common
 * practice, no source).
 */
export const TARGET_LUFS = -18;
/**
 * No sample goes beyond this, so that codecs have headroom; and no recording is amplified by more than this, or its
 * noise would be too loud.
 */
export const CEILING_DB = -1;
export const MOST_GAIN_DB = 24;
