import { midiToHz } from '../../units.ts';

/** Resolution of the log-frequency spectra that the pitch network sees. */
export const PLACES_PER_SEMITONE = 3;
export const LOWEST_PLACE_MIDI = 28;
export const PLACES = 324;

/** The bins of a spectrum. */
export interface Bins {
  readonly binHz: number;
  readonly bins: number;
}

const placeMidi = (place: number, offset: number): number =>
  LOWEST_PLACE_MIDI + place / PLACES_PER_SEMITONE + offset;

/** How many places lie within the spectrum. */
export function placesBelow({ binHz, bins }: Bins, offset: number, highestMidi: number): number {
  let count = 0;
  while (
    count < PLACES - 1 &&
    placeMidi(count, 0) <= highestMidi &&
    midiToHz(placeMidi(count, offset)) / binHz <= bins - 3
  )
    count++;
  return count;
}

/** Positions of the places, in bins. */
export function positions({ binHz }: Bins, offset: number, count: number): number[] {
  return Array.from({ length: count }, (_, place) => midiToHz(placeMidi(place, offset)) / binHz);
}
