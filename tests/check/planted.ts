import { walk } from '../../samples/synth/walk.ts';
import { TUNES } from '../../samples/tunes.ts';
import { TOLERANCES } from '../../src/check/finding.ts';
import { judge } from '../../src/check/judging/judge.ts';
import { playableNotes } from '../../src/harp/playable.ts';
import {
  PLANTABLE,
  type Planted,
  randomOf,
  referenceOf,
  type Stroke,
  strokesOf,
  takeOf,
  withMistakes,
} from './student.ts';

/** How many planted mistakes were found, by kind, and how many findings had no cause. */
export interface PlantedTally {
  readonly planted: number;
  readonly found: number;
  readonly falseFindings: number;
  readonly notes: number;
  readonly byKind: ReadonlyMap<string, { planted: number; found: number }>;
  readonly misses: readonly string[];
}

/** A finding of a restart may name a note of the same pitch beside the first repeated one. */
const NEAR = 1;

/** Plays tunes with mistakes and counts what `judge` makes of them. */
export function tallyPlanted(rounds: number, spreadSec = 0.015, seed = 1): PlantedTally {
  const byKind = new Map<string, { planted: number; found: number }>();
  const misses: string[] = [];
  let falseFindings = 0;
  let notes = 0;
  const harp = playableNotes({ key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 });
  for (let round = 0; round < rounds; round++) {
    const rng = randomOf(seed * 1000 + round);
    const names = Object.keys(TUNES) as (keyof typeof TUNES)[];
    const tab =
      round % 2 === 0
        ? TUNES[names[(round / 2) % names.length]]
        : walk(
            harp,
            {
              notes: 45,
              beats: [0.5, 1, 1, 2],
              bendShare: 0.1,
              overShare: 0,
              repeatShare: 0.15,
              holes: [1, 9],
            },
            rng,
          );
    const tune = strokesOf(tab);
    const beatSec = rng.between([0.4, 0.7]);
    const kinds = [...PLANTABLE].sort(() => rng.next() - 0.5);
    const { strokes, planted } = withMistakes(tune, kinds, { beatSec, spreadSec }, rng);
    notes += strokes.length;
    const { findings } = judge(takeOf(strokes, { beatSec }), referenceOf(tune), TOLERANCES);
    const left = new Set(findings.filter(({ kind }) => kind !== 'same-pitch-other-hole'));
    for (const mistake of planted) {
      const tally = byKind.get(mistake.kind) ?? { planted: 0, found: 0 };
      byKind.set(mistake.kind, tally);
      tally.planted++;
      const hit = [...left].find(
        (finding) => finding.kind === mistake.kind && isAt(finding, mistake, strokes, tune, beatSec),
      );
      if (hit) {
        tally.found++;
        left.delete(hit);
      } else {
        misses.push(
          `round ${round} ${tab.slice(0, 12)}: ${mistake.kind} at stroke ${mistake.stroke}, reference ${mistake.referenceIndex}`,
        );
      }
    }
    for (const finding of left) {
      falseFindings++;
      misses.push(
        `round ${round}: not planted: ${finding.kind} ${finding.noteId} ${finding.referenceIndex} ${finding.message}`,
      );
    }
  }
  const all = [...byKind.values()];
  return {
    planted: all.reduce((sum, { planted }) => sum + planted, 0),
    found: all.reduce((sum, { found }) => sum + found, 0),
    falseFindings,
    notes,
    byKind,
    misses,
  };
}

function isAt(
  finding: { readonly noteId: string | null; readonly referenceIndex: number | null },
  mistake: Planted,
  _strokes: readonly Stroke[],
  tune: readonly Stroke[],
  _beatSec: number,
): boolean {
  if (mistake.stroke === null) {
    // Of notes of one pitch in a row, nobody can say which was left out.
    const { referenceIndex: b } = finding;
    if (b === null || mistake.referenceIndex === null) return false;
    const [from, to] = [Math.min(b, mistake.referenceIndex), Math.max(b, mistake.referenceIndex)];
    return tune.slice(from, to + 1).every(({ tab }) => JSON.stringify(tab) === JSON.stringify(tune[b].tab));
  }
  const heard = Number(finding.noteId?.slice(1)) - 1;
  return Math.abs(heard - mistake.stroke) <= (mistake.kind === 'restart' ? NEAR : 0);
}
