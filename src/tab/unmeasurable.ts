/**
 * Flags of a note that say why a measure is missing (`Note.flags`): too much noise for pitch and reeds, too short a
 * held part for intonation, clipped so that level, attack and brightness are the recorder's.
 */
export const NOISY = 'too-noisy-to-judge';
export const SHORT = 'too-short-to-judge';
export const CLIPPED = 'clipped';
