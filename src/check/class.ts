import { median } from '../statistics.ts';
import type { TopicKind } from './advice/topics.ts';
import type { Reference } from './align/reference.ts';
import type { CheckedTake } from './check-take.ts';
import { sectionInWords } from './words.ts';

/** A pupil of a class: what the recording shows, or why it could not be judged. */
export type Pupil =
  | { readonly id: string; readonly checked: CheckedTake }
  | { readonly id: string; readonly error: string };

/** Something that several pupils need. */
export interface Need {
  readonly kind: TopicKind;
  /** Pupils for whom it is among the first three points, and how often it occurs in all. */
  readonly ids: readonly string[];
  readonly count: number;
  /** What it costs all of them together. */
  readonly cost: number;
}

/** A place in the tune with the pupils who stumble there. */
interface HardPlace {
  readonly place: string;
  readonly ids: readonly string[];
}

/** A class as a whole. */
export interface ClassReport {
  readonly pupils: number;
  readonly judged: number;
  readonly medianScore: number | null;
  readonly lowestScore: number | null;
  readonly highestScore: number | null;
  /** What most of them need, the commonest first. */
  readonly needs: readonly Need[];
  /** Where most of them stumble. */
  readonly hardPlaces: readonly HardPlace[];
  /** Who sent only a part, and which lines are missing. */
  readonly sentPart: readonly { readonly id: string; readonly missingLines: readonly number[] }[];
  /** Who probably sent another tune: they are left out of everything else here. */
  readonly otherTune: readonly string[];
  /** Whose recording could not be judged, and why. */
  readonly notJudged: readonly { readonly id: string; readonly error: string }[];
}

/** How many needs and hard places of a class are listed. */
const MOST = 5;

/** Sums up a class whose takes were compared with one reference. */
export function classOf(pupils: readonly Pupil[], reference: Reference | null): ClassReport {
  const compared = pupils.flatMap((pupil) => ('checked' in pupil ? [pupil] : []));
  const judged = compared.filter(({ checked }) => !checked.otherTune);
  const scores = judged.map(({ checked }) => checked.attempt.score.score);
  const lines = [...new Set((reference?.notes ?? []).map(({ line }) => line))];
  return {
    pupils: pupils.length,
    judged: judged.length,
    medianScore: scores.length === 0 ? null : median(scores),
    lowestScore: scores.length === 0 ? null : Math.min(...scores),
    highestScore: scores.length === 0 ? null : Math.max(...scores),
    needs: needsOf(judged),
    hardPlaces: hardPlacesOf(judged),
    sentPart: judged.flatMap(({ id, checked: { scope } }) =>
      scope.whole || scope.named
        ? []
        : [{ id, missingLines: lines.filter((line) => line < scope.lines[0] || line > scope.lines[1]) }],
    ),
    otherTune: compared.flatMap(({ id, checked }) => (checked.otherTune ? [id] : [])),
    notJudged: pupils.flatMap((pupil) => ('error' in pupil ? [{ id: pupil.id, error: pupil.error }] : [])),
  };
}

type Judged = Extract<Pupil, { readonly checked: CheckedTake }>;

function needsOf(judged: readonly Judged[]): Need[] {
  const needs = new Map<TopicKind, { ids: string[]; count: number; cost: number }>();
  for (const { id, checked } of judged) {
    for (const { kind, count, cost } of checked.advice) {
      const need = needs.get(kind) ?? { ids: [], count: 0, cost: 0 };
      needs.set(kind, { ids: [...need.ids, id], count: need.count + count, cost: need.cost + cost });
    }
  }
  return [...needs]
    .map(([kind, need]) => ({ kind, ...need }))
    .sort((a, b) => b.ids.length - a.ids.length || b.cost - a.cost)
    .slice(0, MOST);
}

/** Findings that show where a tune is hard; second reeds and breath noise show how somebody plays. */
const OF_THE_PLACE: readonly string[] = [
  'wrong-note',
  'octave',
  'missed',
  'restart',
  'early',
  'late',
  'bend-short',
  'bend-sharp',
];

function hardPlacesOf(judged: readonly Judged[]): HardPlace[] {
  const places = new Map<string, Set<string>>();
  for (const { id, checked } of judged) {
    const { reference, judgement } = checked.attempt;
    for (const { kind, referenceIndex: b } of judgement.findings) {
      if (b === null || !OF_THE_PLACE.includes(kind)) continue;
      const place = sectionInWords(reference.notes[b]);
      places.set(place, (places.get(place) ?? new Set()).add(id));
    }
  }
  return [...places]
    .map(([place, ids]) => ({ place, ids: [...ids] }))
    .filter(({ ids }) => ids.length > 1)
    .sort((a, b) => b.ids.length - a.ids.length)
    .slice(0, MOST);
}
