import { countedInWords } from '../../text/counted.ts';
import type { Reference, ReferenceNote } from '../align/reference.ts';
import type { Finding, Tolerances } from '../finding.ts';
import type { Judgement } from '../judging/judge.ts';
import { holeName, seconds, sectionInWords } from '../words.ts';
import { type Topic, type TopicKind, topicsOf } from './topics.ts';
import { ADVICE_WEIGHTS, type AdviceWeights } from './weights.ts';

/** One point that a teacher makes. */
export interface Advice {
  readonly kind: TopicKind;
  readonly count: number;
  /** Points that it costs the music; see `ADVICE_TABLE`. */
  readonly cost: number;
  /** What there is to say, in one sentence. */
  readonly message: string;
  /** One line on what to practise and how. */
  readonly practise: string;
  /** Where it happens: places in the reference, from 0. */
  readonly referenceIndexes: readonly number[];
}

/** Nobody remembers more than three points. */
const MOST = 3;

/** What to work on first: at most three points, the costliest first. */
export function adviceOf(
  judgement: Judgement,
  reference: Reference,
  tolerances: Tolerances,
  weights: AdviceWeights = ADVICE_WEIGHTS,
): Advice[] {
  return topicsOf(judgement, reference, tolerances, weights)
    .slice(0, MOST)
    .map((topic) => inWords(topic, judgement, reference));
}

function inWords(topic: Topic, judgement: Judgement, reference: Reference): Advice {
  const places = placesOf(topic.findings, reference);
  const { message, practise } = SENTENCES[topic.kind]({ ...topic, judgement, reference, ...places });
  return {
    kind: topic.kind,
    count: topic.findings.length,
    cost: topic.cost,
    message,
    practise,
    referenceIndexes: topic.findings.flatMap(({ referenceIndex }) =>
      referenceIndex === null ? [] : [referenceIndex],
    ),
  };
}

interface Source extends Topic {
  readonly judgement: Judgement;
  readonly reference: Reference;
  /** `, most of them in bar 3`, or nothing. */
  readonly where: string;
  /** What to repeat: `bar 3`. */
  readonly spot: string;
}

type Sentence = (source: Source) => { readonly message: string; readonly practise: string };

const slowly = (spot: string): string =>
  `play ${spot} at half speed until it is right three times running, then a little faster each time`;
const meanOf = (findings: readonly Finding[]): number =>
  findings.reduce((sum, { value }) => sum + Math.abs(value ?? 0), 0) / Math.max(1, findings.length);
const cents = (findings: readonly Finding[]): string => `${Math.round(meanOf(findings))} cents`;
const each = (count: number): string => (count === 1 ? '' : ' on average');

/** `all 4 bends`, `2 of 4 bends`, `the one bend` */
function bendsOf(count: number, all: number | null): string {
  if (all !== null && count < all) return `${count === 1 ? 'one' : count} of ${all} bends`;
  return count === 1 ? 'the one bend' : `all ${count} bends`;
}

const SENTENCES: Readonly<Record<TopicKind, Sentence>> = {
  'wrong-note': ({ findings, where, spot }) => ({
    message: `${countedInWords(findings.length, 'wrong note')}${where}`,
    practise: slowly(spot),
  }),
  missed: ({ findings, where, spot, reference }) => {
    const repeated = findings.filter(({ referenceIndex: b }) => isRepeat(reference.notes, b)).length;
    return repeated > findings.length / 2
      ? {
          message: `${countedInWords(findings.length, 'repeated note')} not tongued again${where}`,
          practise: `on one hole, say "ta" for every beat until each note starts by itself; then play ${spot}`,
        }
      : {
          message: `${countedInWords(findings.length, 'missing note')}${where}`,
          practise: `read ${spot} aloud, hole by hole, then play it slowly without leaving any out`,
        };
  },
  restart: ({ findings, where, spot }) => ({
    message: `you started again ${findings.length === 1 ? 'once' : `${findings.length} times`}${where}`,
    practise: `play from two notes before ${spot} to two notes after it, and play on whatever happens`,
  }),
  octave: ({ findings, where, spot }) => ({
    message: `${countedInWords(findings.length, 'note')} in the wrong octave${where}`,
    practise: `find the first hole of ${spot} without looking, ten times, then ${slowly(spot)}`,
  }),
  added: ({ findings, where }) => ({
    message: `${countedInWords(findings.length, 'extra note')}${where}`,
    practise: 'move to the next hole with the breath stopped, so that nothing sounds on the way',
  }),
  late: ({ findings, where, spot }) => ({
    message: `${countedInWords(findings.length, 'note')} ${findings.length === 1 ? 'starts' : 'start'} late by ${seconds(meanOf(findings))}${each(findings.length)}${where}`,
    practise: `tap your foot and play ${spot} with a metronome, slow enough to be there on the tap`,
  }),
  early: ({ findings, where, spot }) => ({
    message: `${countedInWords(findings.length, 'note')} ${findings.length === 1 ? 'starts' : 'start'} early by ${seconds(meanOf(findings))}${each(findings.length)}${where}`,
    practise: `count aloud through ${spot} once, then play it and wait for every beat`,
  }),
  'bend-short': ({ findings, of, where, judgement }) => ({
    message: `${bendsOf(findings.length, of)} ${findings.length === 1 ? 'stops' : 'stop'} short, by ${cents(findings)}${each(findings.length)}${where}`,
    practise: `hear the target first, then bend ${bendsIn(findings, judgement)} down to it and hold it for four beats; five times each`,
  }),
  'bend-sharp': ({ findings, of, where, judgement }) => ({
    message: `${bendsOf(findings.length, of)} ${findings.length === 1 ? 'goes' : 'go'} too deep, by ${cents(findings)}${each(findings.length)}${where}`,
    practise: `hear the target first, bend ${bendsIn(findings, judgement)} slowly and stop on it; hold it for four beats, five times each`,
  }),
  'second-reed': ({ findings, of, where }) => ({
    message: `a second reed sounds in ${findings.length} of ${of ?? findings.length} notes, ${Math.round(meanOf(findings))} dB below${each(findings.length)}${where}`,
    practise: 'hold each note of the scale for four beats and narrow your lips until only one reed sounds',
  }),
  'breath-noise': ({ findings, where }) => ({
    message: `${countedInWords(findings.length, 'breathy note')}${where}`,
    practise:
      'play long notes with less air and relaxed lips; the tone should stay, the hiss should go. Stop if you feel dizzy',
  }),
  'same-pitch-other-hole': ({ findings, where, spot }) => ({
    message: `${countedInWords(findings.length, 'note')} from another hole than the tab says${where}`,
    practise: slowly(spot),
  }),
  tempo: ({ judgement }) => {
    const change = judgement.tempoChange ?? 1;
    const percent = Math.round(100 * Math.abs(change - 1));
    return {
      message: `you ${change > 1 ? 'speed up' : 'slow down'} by ${percent} % from beginning to end`,
      practise: 'play the whole tune with a metronome at the speed of your last line, or slower',
    };
  },
};

/** Whether a note has the pitch of the one before it. */
const isRepeat = (notes: readonly ReferenceNote[], b: number | null): boolean =>
  b !== null && b > 0 && notes[b].midi === notes[b - 1].midi;

/** `-3'' and -2'`, the commonest first, three at most. */
function bendsIn(findings: readonly Finding[], judgement: Judgement): string {
  const counts = new Map<string, number>();
  for (const { noteId } of findings) {
    const judged = judgement.notes.find(({ note }) => note.id === noteId);
    const name = judged === undefined ? null : holeName(judged.target ?? judged.note);
    if (name !== null) counts.set(name, (counts.get(name) ?? 0) + 1);
  }
  const names = [...counts].sort((a, b) => b[1] - a[1]).map(([name]) => name);
  return names.slice(0, MOST).join(' and ') || 'each bend';
}

/** Where the findings lie, by bar or line. */
function placesOf(findings: readonly Finding[], { notes }: Reference): { where: string; spot: string } {
  const sections = findings.flatMap(({ referenceIndex: b }) =>
    b === null ? [] : [sectionInWords(notes[b])],
  );
  const counts = new Map<string, number>();
  for (const section of sections) counts.set(section, (counts.get(section) ?? 0) + 1);
  const [commonest] = [...counts].sort((a, b) => b[1] - a[1]);
  if (commonest === undefined) return { where: '', spot: 'the tune' };
  const [spot, count] = commonest;
  if (sections.length === 1) return { where: `, in ${spot}`, spot };
  if (counts.size === 1) return { where: `, all in ${spot}`, spot };
  return { where: count > 1 ? `, most in ${spot}` : `, first in ${spot}`, spot };
}
