import { counted, countedInWords } from '../../text/counted.ts';
import type { Reference } from '../align/reference.ts';
import type { FindingKind, Tolerances } from '../finding.ts';
import { canBeJudged, leaks } from '../judging/clean.ts';
import type { Judgement } from '../judging/judge.ts';
import { seconds } from '../words.ts';

/** What went well, each with its number. */
export function wentWell(judgement: Judgement, reference: Reference, tolerances: Tolerances): string[] {
  const { notes, findings, missed, unevenSec } = judgement;
  const well: string[] = [];
  const right = notes.filter(({ right }) => right).length;
  const wanted = reference.notes.length;
  if (right > 0 && right >= GOOD_SHARE * wanted)
    well.push(
      right >= wanted && missed === 0
        ? wanted === 1
          ? 'the one note is right'
          : `all ${wanted} notes are right`
        : `${right} of ${counted(wanted, 'note')} are right`,
    );
  const none = (...kinds: FindingKind[]): boolean => !findings.some(({ kind }) => kinds.includes(kind));
  if (unevenSec !== null && none('late', 'early'))
    well.push(`even time: two notes in three within ${seconds(Math.max(0.01, unevenSec))} of your own beat`);
  const bends = notes.filter(({ bend, note }) => bend && note.intonation !== null);
  const good = bends.filter(({ cents }) => Math.abs(cents) <= tolerances.bendCents).length;
  if (bends.length > 0 && good >= GOOD_SHARE * bends.length)
    well.push(
      `${bends.length === 1 ? 'the one bend is' : good === bends.length ? `all ${good} bends are` : `${good} of ${bends.length} bends are`} within ${tolerances.bendCents} cents`,
    );
  const clear = notes.filter(({ note }) => canBeJudged(note)).length;
  if (clear > 0 && none('second-reed')) {
    const excused = notes.filter(({ note }) => leaks(note, tolerances)).length;
    well.push(
      excused === 0
        ? `clean single notes: no second reed in ${countedInWords(clear, 'note')}`
        : `no second reed except in ${countedInWords(excused, 'note')} that ${excused === 1 ? 'has' : 'have'} one in the reference, too`,
    );
  }
  const run = longestRun(judgement);
  if (well.length === 0 && run > 1) well.push(`${run} notes in a row without a slip`);
  return well;
}

/** From this share on a thing went well. */
const GOOD_SHARE = 0.9;

function longestRun({ notes }: Judgement): number {
  let most = 0;
  let run = 0;
  for (const { right } of notes) {
    run = right ? run + 1 : 0;
    most = Math.max(most, run);
  }
  return most;
}
