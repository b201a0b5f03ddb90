/** What teacher and pupil are brought to, in LUFS: as loud as speech on the net, with room for peaks (common practice, no source). */
export const TARGET_LUFS = -18;
/** No sample beyond this, so that codecs have room, and no noise pulled up further than this. */
export const CEILING_DB = -1;
export const MOST_GAIN_DB = 24;
