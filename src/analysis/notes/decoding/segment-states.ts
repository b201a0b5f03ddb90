/** How the decoder's states are numbered: silence; an attack and a held state for each pitch; then the sets. */
export const SILENCE = 0;
export const attackState = (pitch: number): number => 1 + 2 * pitch;
export const heldState = (pitch: number): number => 2 + 2 * pitch;
export const firstSet = (pitches: number): number => 1 + 2 * pitches;
export const pitchOf = (state: number): number => (state - 1) >> 1;
export const isAttack = (state: number): boolean => state !== SILENCE && state % 2 === 1;
