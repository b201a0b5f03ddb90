import { positionName } from '../harp/positions.ts';
import { formatTabNote } from '../tab/text.ts';
import { withArticle } from '../text/article.ts';
import type { Arrangement, Candidate, PlayedOn } from './arrange.ts';
import { changedNotes } from './learning.ts';

/** Kinds of arrangement, in the order in which a teacher offers them. */
const WAYS = ['same-harp', 'another-tuning', 'same-harp-elsewhere', 'another-key', 'practice'] as const;
type Way = (typeof WAYS)[number];

/** One answer, in a sentence. */
export interface Answer {
  readonly way: Way;
  readonly sentence: string;
  /** Place in the ranking; null for practice, which keeps the tune as it is. */
  readonly candidate: number | null;
}

/**
 * A short list of different kinds of answer: the same harp at the same pitch with fewer bends, the same key in another
 * tuning, the same harp in another octave, another key, and keeping the tune as practice. Each kind appears once, with
 * its cheapest arrangement, and only if that has fewer bends than today.
 */
export function shortListOf({ candidates, played }: Arrangement, today: PlayedOn): Answer[] {
  if (played === null) return [];
  const bendsToday = today.tab.filter(({ bend, over }) => bend > 0 || over).length;
  if (bendsToday === 0) return [];
  const better = (candidate: Candidate): boolean =>
    candidate.missing === 0 && candidate.bends + candidate.overbends < bendsToday;
  const sameKey = ({ harp }: Candidate): boolean => harp.key === today.harp.key;
  const sameTuning = ({ harp }: Candidate): boolean => harp.tuning === today.layout.id;
  const samePitch = ({ octaveShift, transposeSemitones }: Candidate): boolean =>
    octaveShift === 0 && transposeSemitones === 0;
  const tests: readonly [Way, (candidate: Candidate) => boolean][] = [
    ['same-harp', (each) => sameKey(each) && sameTuning(each) && samePitch(each)],
    ['another-tuning', (each) => sameKey(each) && !sameTuning(each)],
    ['same-harp-elsewhere', (each) => sameKey(each) && sameTuning(each) && !samePitch(each)],
    // One new thing at a time: another key, in the tuning the player knows.
    ['another-key', (each) => !sameKey(each) && sameTuning(each)],
  ];
  const found = tests.flatMap(([way, test]) => {
    const at = candidates.findIndex((candidate) => test(candidate) && better(candidate));
    return at < 0
      ? []
      : [
          {
            way,
            candidate: at,
            total: totalOf(candidates[at]),
            sentence: inWords(candidates[at], today, bendsToday),
          },
        ];
  });
  return [
    ...found
      .sort((a, b) => a.total - b.total)
      .map(({ way, candidate, sentence }) => ({ way, candidate, sentence })),
    { way: 'practice', candidate: null, sentence: practiceInWords(today) },
  ];
}

const totalOf = ({ cost, learning }: Candidate): number => cost + learning;

function inWords(candidate: Candidate, today: PlayedOn, bendsToday: number): string {
  const { harp, layout, bends, overbends, octaveShift, transposeSemitones, position, laid } = candidate;
  const tuning = layout.id === today.layout.id ? '' : ` in another tuning (${layout.name})`;
  const same = harp.key === today.harp.key;
  const which = same && tuning === '' ? `your ${harp.key} harp` : withArticle(`${harp.key} harp${tuning}`);
  const where =
    octaveShift === 0 && transposeSemitones === 0
      ? 'at the same pitch'
      : octaveShift === 0
        ? 'in another key'
        : `${Math.abs(octaveShift) === 1 ? 'an octave' : `${Math.abs(octaveShift)} octaves`} ${octaveShift > 0 ? 'higher' : 'lower'}`;
  const left = bends + overbends;
  const fewer =
    left === 0 ? 'no bends at all' : `${left === 1 ? 'one bend' : `${left} bends`} instead of ${bendsToday}`;
  const changed = changedNotes(laid, today.tab);
  const at = same ? '' : `, ${positionName(position)}`;
  const buy = same && tuning === '' ? '' : '; you need that harp for it';
  return `Play it on ${which}${at}, ${where}: ${fewer}, and ${changed === 1 ? 'one note is' : `${changed} of ${today.tab.length} notes are`} played differently${buy}.`;
}

/** How to reach a bend: common practice, no source. */
function practiceInWords({ tab }: PlayedOn): string {
  const counts = new Map<string, number>();
  for (const note of tab) {
    if (note.bend === 0 && !note.over) continue;
    const name = formatTabNote(note);
    counts.set(name, (counts.get(name) ?? 0) + 1);
  }
  const [[name, count]] = [...counts].sort((a, b) => b[1] - a[1]);
  return `Keep it as practice: ${name} comes ${count === 1 ? 'once' : `${count} times`}; hear its pitch first, reach it from the plain note of the same hole, and hold it for four beats before you play it in the tune (common practice).`;
}
