import { countedInWords } from '../text/counted.ts';
import type { Reference } from './align/reference.ts';
import type { FindingKind, Tolerances } from './finding.ts';
import { canBeJudged } from './judging/clean.ts';
import type { Judgement } from './judging/judge.ts';

/** One part of a score. */
interface ScorePart {
  readonly part: 'notes' | 'timing' | 'bends' | 'clean';
  /** 0 to 100; null when the take or the reference does not show it. */
  readonly score: number | null;
  /** What it is based on, in words. */
  readonly because: string;
  readonly weight: number;
}

export interface Score {
  /** 0 to 100: the parts that could be judged, by weight. */
  readonly score: number;
  readonly parts: readonly ScorePart[];
}

/** Notes first, then time, then tone: the order in which a lesson goes (common practice). */
const WEIGHTS = { notes: 60, timing: 20, bends: 10, clean: 10 } as const;
/** A restart weighs as much as one wrong note. */
const RESTART_NOTES = 1;

/** Marks a judged take. A take compared with itself gets 100. */
export function scoreOf(judgement: Judgement, reference: Reference, tolerances: Tolerances): Score {
  const { notes, findings } = judgement;
  const count = (...kinds: FindingKind[]): number =>
    findings.filter(({ kind }) => kinds.includes(kind)).length;
  const wanted = reference.notes.length;
  const wrong =
    count('wrong-note', 'octave', 'added', 'missed') +
    RESTART_NOTES * count('restart') +
    (tolerances.strict ? count('same-pitch-other-hole') : 0);
  const timed = notes.filter(({ lateSec }) => lateSec !== null).length;
  const off = count('early', 'late');
  const bent = notes.filter(({ bend }) => bend);
  const bends = bent.filter(({ note }) => note.intonation !== null).length;
  const unjudged = bent.length - bends;
  const missedBends = count('bend-short', 'bend-sharp');
  const dirty = new Set(
    findings
      .filter(({ kind }) => kind === 'second-reed' || kind === 'breath-noise')
      .map(({ noteId }) => noteId),
  ).size;
  const clear = notes.filter(({ note }) => canBeJudged(note)).length;
  const parts: ScorePart[] = [
    {
      part: 'notes',
      score: share(wanted - wrong, wanted),
      because: `${wrong === 0 ? 'no slips' : countedInWords(wrong, 'slip')} in ${countedInWords(wanted, 'note')}`,
      weight: WEIGHTS.notes,
    },
    {
      part: 'timing',
      score: share(timed - off, timed),
      because: timed === 0 ? 'not judged' : `${off === 0 ? 'none' : off} of ${timed} early or late`,
      weight: WEIGHTS.timing,
    },
    {
      part: 'bends',
      score: share(bends - missedBends, bends),
      because:
        [
          ...(bends > 0
            ? [
                `${bends === missedBends ? 'none' : bends - missedBends} of ${bends} within ${tolerances.bendCents} cents`,
              ]
            : []),
          ...(unjudged > 0 ? [`${countedInWords(unjudged, 'bend')} too short or too noisy to judge`] : []),
        ].join('; ') || 'no bends to judge',
      weight: WEIGHTS.bends,
    },
    {
      part: 'clean',
      score: share(clear - dirty, clear),
      because:
        [
          ...(clear > 0 ? [`${clear - dirty} of ${clear} clean`] : []),
          ...(clear < notes.length
            ? [`${countedInWords(notes.length - clear, 'note')} too noisy to judge`]
            : []),
        ].join('; ') || 'no notes to judge',
      weight: WEIGHTS.clean,
    },
  ];
  const told = parts.filter(({ score }) => score !== null);
  const weights = told.reduce((sum, { weight }) => sum + weight, 0);
  return {
    score: weights === 0 ? 0 : told.reduce((sum, { score, weight }) => sum + score! * weight, 0) / weights,
    parts,
  };
}

function share(good: number, all: number): number | null {
  return all === 0 ? null : (100 * Math.max(0, good)) / all;
}
