import { KEY_NAMES, parseHarpKey, printedLabel } from '../harp/keys.ts';
import { layoutOf } from '../harp/playable.ts';
import { positionName, positionOf } from '../harp/positions.ts';
import type { Score } from './score.ts';

/** The heading of a sheet, part by part: `C harp, Richter`, `2nd position (cross)`, `key of G`, `3/4`, … */
export function headInWords(score: Score): string[] {
  return [...harpInWords(score), timeInWords(score)];
}

/** The harp and, if it is sure, the position of the tune. */
export function harpInWords({ take, tonic, tonicSure }: Score): string[] {
  const { key, tuning } = take.harp;
  const { tonicMidi } = parseHarpKey(key);
  let name = `${key} harp, ${tuning} tuning`;
  try {
    const layout = layoutOf(take.harp);
    const printed = printedLabel(key, layout);
    name = `${key} harp, ${layout.name}${printed === key ? '' : ` (printed ${printed})`}`;
  } catch {
    // A take from an older program lacks the custom tuning, so its name must do.
  }
  if (!tonicSure) return [name];
  return [name, positionName(positionOf(tonic, tonicMidi)), `keynote ${KEY_NAMES[tonic]}`];
}

/** `3/4, 96 quarter notes a minute, swing`, or `free time`. */
function timeInWords({ beats }: Score): string {
  if (beats.metre === null) return 'free time';
  const { count, unit } = beats.metre;
  return `${count}/${unit}, ${Math.round(beats.tempoBpm)} quarter notes a minute${beats.swing ? ', swing' : ''}`;
}
