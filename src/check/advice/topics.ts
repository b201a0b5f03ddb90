import type { Reference } from '../align/reference.ts';
import type { Finding, FindingKind, Tolerances } from '../finding.ts';
import type { Judgement } from '../judging/judge.ts';
import type { AdviceWeights } from './weights.ts';

/** What one exercise works on: findings of one kind, or the tempo of the whole take. */
export type TopicKind = FindingKind | 'tempo';

/** Something to work on, before it is put into words. */
export interface Topic {
  readonly kind: TopicKind;
  /** What it costs the music, in points of `ADVICE_TABLE`. */
  readonly cost: number;
  /** In order of time; empty for the tempo. */
  readonly findings: readonly Finding[];
  /** How many notes could have gone wrong in this way, where that can be counted: bends for bends, clear notes for second reeds. */
  readonly of: number | null;
}

/** A change of tempo smaller than this is not a fault. */
const TEMPO_DRIFT = 0.06;
/** Being later than this many tolerances costs no more. */
const MOST_TIMES = 3;
/** A bend of this length counts once; shorter ones are noticed less, longer ones more. */
const USUAL_BEND_SEC = 0.5;
const BEND_LENGTH = [0.6, 2] as const;
/** Few people hear a second reed this far below its note; everyone hears one this far below it. */
const FAINT_DB = -24;
const LOUD_DB = -6;
/** A note masks a faint reed, which therefore costs less than its level suggests. */
const MASKING = 1.5;
/** The faintest reed that is found still costs this share. */
const LEAST_AUDIBLE = 0.1;

/** Everything that could be worked on, the costliest first. */
export function topicsOf(
  judgement: Judgement,
  reference: Reference,
  tolerances: Tolerances,
  weights: AdviceWeights,
): Topic[] {
  const kinds = new Map<FindingKind, Finding[]>();
  for (const finding of judgement.findings) {
    if (finding.kind === 'same-pitch-other-hole' && !tolerances.strict) continue;
    kinds.set(finding.kind, [...(kinds.get(finding.kind) ?? []), finding]);
  }
  const topics = [...kinds].map(
    ([kind, findings]): Topic => ({
      kind,
      findings,
      cost: findings.reduce((sum, finding) => sum + costOf(finding, judgement, tolerances, weights), 0),
      of: countOf(kind, judgement, reference),
    }),
  );
  const { tempoChange } = judgement;
  if (tempoChange !== null && Math.abs(tempoChange - 1) > TEMPO_DRIFT) {
    const percent = 100 * Math.abs(tempoChange - 1) - 100 * TEMPO_DRIFT;
    topics.push({ kind: 'tempo', findings: [], cost: percent * weights.tempoPercent, of: null });
  }
  return topics.filter(({ cost }) => cost > 0).sort((a, b) => b.cost - a.cost);
}

function costOf(
  finding: Finding,
  judgement: Judgement,
  tolerances: Tolerances,
  weights: AdviceWeights,
): number {
  const size = Math.abs(finding.value ?? 0);
  switch (finding.kind) {
    case 'wrong-note':
      return weights.wrongNote;
    case 'missed':
      return weights.missedNote;
    case 'restart':
      return weights.restart;
    case 'octave':
      return weights.octave;
    case 'added':
      return weights.addedNote;
    case 'early':
    case 'late':
      return weights.timeAtTolerance * Math.min(MOST_TIMES, size / tolerances.timeSec);
    case 'bend-short':
    case 'bend-sharp': {
      const judged = judgement.notes.find(({ note }) => note.id === finding.noteId);
      const sec = judged === undefined ? USUAL_BEND_SEC : judged.note.offsetSec - judged.note.onsetSec;
      const length = Math.min(BEND_LENGTH[1], Math.max(BEND_LENGTH[0], sec / USUAL_BEND_SEC));
      const beyond = Math.max(0, size / tolerances.bendCents - 1);
      return length * (weights.bendAtTolerance + beyond * weights.bendPerTolerance);
    }
    case 'second-reed': {
      const audible = ((finding.value ?? FAINT_DB) - FAINT_DB) / (LOUD_DB - FAINT_DB);
      return weights.leakLoud * Math.min(1.5, Math.max(LEAST_AUDIBLE, Math.max(0, audible) ** MASKING));
    }
    case 'breath-noise':
      return weights.breathNoise;
    case 'same-pitch-other-hole':
      return weights.otherHole;
  }
}

function countOf(kind: FindingKind, { notes }: Judgement, reference: Reference): number | null {
  if (kind === 'bend-short' || kind === 'bend-sharp')
    return notes.filter(({ bend, note }) => bend && note.intonation !== null).length;
  if (kind === 'second-reed' || kind === 'breath-noise') return notes.length;
  if (kind === 'added' || kind === 'restart') return null;
  return reference.notes.length;
}
