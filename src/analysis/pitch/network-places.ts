import { midiToHz } from '../../units.ts';
import { LOWEST_ROW_MIDI, ROWS } from './evidence.ts';

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

/** Where the network looks, in places above the pitch: a third of a semitone around eight harmonics, and between them. */
const AROUND_HARMONICS = [0, 36, 57, 72, 84, 93, 101, 108].flatMap((place) => [place - 1, place, place + 1]);
const BESIDE = [-3, 3, -36, -57, -72, -21, 21, 48, 65, 78];
const LOOKS = [...AROUND_HARMONICS, ...BESIDE];
/** Beyond the spectra: the last place, where they never reach. */
const NOTHING = PLACES - 1;
/** After the places comes the row of level and growth. */
export const LEVEL = PLACES;
/** Places and level. */
export const SPECTRUM_ROWS = PLACES + 1;
/** Each of them holds two inputs: long and short spectrum, or level and growth. */
export const INPUT_PAIRS = LOOKS.length + 1;

/** The rows from which the network hears each pitch, by `row * INPUT_PAIRS`. */
export const INPUT_ROWS = Uint16Array.from({ length: ROWS * INPUT_PAIRS }, (_, i) => {
  const input = i % INPUT_PAIRS;
  if (input === LOOKS.length) return LEVEL;
  const place =
    PLACES_PER_SEMITONE * (LOWEST_ROW_MIDI + (i - input) / INPUT_PAIRS - LOWEST_PLACE_MIDI) + LOOKS[input];
  return place < 0 || place >= PLACES ? NOTHING : place;
});
