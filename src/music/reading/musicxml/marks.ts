import { endOf, isCoda, type Mark, markOf } from '../jumps.ts';
import { all, type Element, first, number } from './xml.ts';

/** A mark of which only the place is known so far; null for the end of its bar. */
export type PlacedMark = Omit<Mark, 'endBeats'> & { readonly endBeats: number | null };

/**
 * Where to jump, by a `<sound>` or a `<direction>`, in which a `<sound>` counts more than signs and words (MusicXML 4.0, `sound`).
 * @param atBeats  where it stands
 * @param divisions  per quarter note
 */
export function marksOf(element: Element, atBeats: number, divisions: number): PlacedMark[] {
  const sound = element.name === 'sound' ? element : first(element, 'sound');
  const offset = number(first(sound, 'offset'));
  const soundBeats = atBeats + (offset ?? 0) / divisions;
  const said = all(element, 'direction-type').flatMap(({ children }) =>
    children.flatMap(({ name, text }) => markOf(name === 'words' ? text : name) ?? []),
  );
  const { attributes = {} } = sound ?? {};
  const kinds = SOUNDS.flatMap(([name, kind]) => (attributes[name] === undefined ? [] : [kind]));
  if (kinds.length === 0) return said.map((mark) => ({ ...mark, atBeats, endBeats: null }));
  return kinds.map((kind): PlacedMark => {
    const until = said.find((mark) => mark.kind === kind)?.until;
    return { kind, atBeats: soundBeats, endBeats: soundBeats, ...(until && { until }) };
  });
}

const SOUNDS: readonly (readonly [string, Mark['kind']])[] = [
  ['segno', 'segno'],
  ['coda', 'coda'],
  ['tocoda', 'to coda'],
  ['fine', 'fine'],
  ['dacapo', 'D.C.'],
  ['dalsegno', 'D.S.'],
];

/**
 * The marks of one bar. Words stand over its last notes, so they hold at its end; so does a D.C., D.S. or Fine at its very
 * beginning, where programs put a direction that belongs to the bar. A mark given both by a sound and by words counts once.
 */
export function marksInBar(marks: readonly PlacedMark[], fromBeats: number, toBeats: number): Mark[] {
  const kinds = [...new Set(marks.map(({ kind }) => kind))];
  return kinds.map((kind): Mark => {
    const alike = marks.filter((mark) => mark.kind === kind);
    const mark = alike.find(({ endBeats }) => endBeats !== null) ?? alike[0];
    const until = alike.find((each) => each.until !== undefined)?.until;
    const whole = mark.endBeats === null || (mark.endBeats <= fromBeats && !isCoda(kind));
    const endBeats = whole ? endOf(mark, fromBeats, toBeats) : mark.endBeats!;
    return { kind, atBeats: mark.atBeats, endBeats, ...(until && { until }) };
  });
}
