import type { Reference } from './align/reference.ts';
import { canBeJudged, leaks } from './clean.ts';
import type { Finding, FindingKind, Tolerances } from './finding.ts';
import type { Judgement } from './judge.ts';
import { counted, placeInWords, seconds } from './words.ts';

/** What each finding weighs when the three things to work on are chosen: what a listener notes first. */
const GRAVITY: Readonly<Record<FindingKind, number>> = {
  'wrong-note': 3,
  missed: 3,
  restart: 3,
  added: 2,
  octave: 2.5,
  late: 1.5,
  early: 1.5,
  'bend-short': 1.5,
  'bend-sharp': 1.5,
  'second-reed': 1.2,
  'breath-noise': 1,
  'same-pitch-other-hole': 0.2,
};
const MOST_TO_WORK_ON = 3;

/** A group of findings that one exercise would cure. */
interface Fault {
  readonly gravity: number;
  readonly text: string;
}

/** The three things to work on first: what is wrong in one place several times, or in many places in one way. */
export function workOn(judgement: Judgement, reference: Reference, tolerances: Tolerances): string[] {
  const faults: Fault[] = [];
  const counting = judgement.findings.filter(
    ({ kind }) => kind !== 'same-pitch-other-hole' || tolerances.strict,
  );
  for (const [kind, group] of groupBy(counting, ({ kind }) => kind)) {
    const gravity = GRAVITY[kind] * group.length;
    faults.push({ gravity, text: groupInWords(kind, group, judgement, reference) });
  }
  const { tempoChange } = judgement;
  if (tempoChange !== null && Math.abs(tempoChange - 1) > TEMPO_DRIFT) {
    const percent = Math.round(100 * Math.abs(tempoChange - 1));
    faults.push({
      gravity: percent / 3,
      text: `keep the tempo: you ${tempoChange > 1 ? 'sped up' : 'slowed down'} by ${percent} % from beginning to end`,
    });
  }
  return faults
    .sort((a, b) => b.gravity - a.gravity)
    .slice(0, MOST_TO_WORK_ON)
    .map(({ text }) => text);
}

/** A change of tempo smaller than this is nobody's fault. */
const TEMPO_DRIFT = 0.06;

function groupInWords(
  kind: FindingKind,
  group: readonly Finding[],
  judgement: Judgement,
  reference: Reference,
): string {
  const places = group.flatMap(({ referenceIndex: b }) =>
    b === null
      ? []
      : [
          placeInWords(reference.notes[b])
            .replace(/ on ".*"$/, '')
            .replace(/, note .*$/, ''),
        ],
  );
  const commonest = [...groupBy(places, (place) => place)].sort((a, b) => b[1].length - a[1].length)[0];
  const where =
    commonest === undefined
      ? ''
      : group.length === 1
        ? `, ${commonest[0]}`
        : commonest[1].length > 1
          ? `, most in ${commonest[0]}`
          : `, first in ${commonest[0]}`;
  const n = group.length;
  const mean = (values: readonly number[]): number =>
    values.reduce((sum, value) => sum + value, 0) / values.length;
  const values = group.flatMap(({ value }) => (value === null ? [] : [value]));
  switch (kind) {
    case 'wrong-note':
      return `the right notes: ${counted(n, 'wrong note')}${where}`;
    case 'octave':
      return `the right octave: ${counted(n, 'note')} an octave off${where}`;
    case 'missed':
      return `all the notes: ${counted(n, 'note')} missing${where}`;
    case 'added':
      return `only what is written: ${counted(n, 'note')} too many`;
    case 'restart':
      return `playing on after a slip: you started again ${n === 1 ? 'once' : `${n} times`}${where}`;
    case 'late':
      return `being there in time: ${counted(n, 'note')} late, by ${seconds(mean(values))} in the mean${where}`;
    case 'early':
      return `waiting for the beat: ${counted(n, 'note')} early, by ${seconds(mean(values))} in the mean${where}`;
    case 'bend-short':
      return `bending all the way down: ${counted(n, 'bend')} short, by ${Math.round(mean(values.map(Math.abs)))} cents in the mean${where}`;
    case 'bend-sharp':
      return `stopping the bend on its note: ${counted(n, 'bend')} too deep, by ${Math.round(mean(values.map(Math.abs)))} cents in the mean${where}`;
    case 'second-reed':
      return `single notes: a second reed sounds along in ${n} of ${judgement.notes.length} notes${where}`;
    case 'breath-noise':
      return `less air, more tone: ${counted(n, 'breathy note')}${where}`;
    case 'same-pitch-other-hole':
      return `the holes that the tab asks for: ${counted(n, 'note')} from another hole${where}`;
  }
}

/** What went well, each with its number. */
export function wentWell(judgement: Judgement, reference: Reference, tolerances: Tolerances): string[] {
  const { notes, findings, missed, unevenSec } = judgement;
  const well: string[] = [];
  const right = notes.filter(({ right }) => right).length;
  const wanted = reference.notes.length;
  if (right > 0 && right >= GOOD_SHARE * wanted)
    well.push(
      right >= wanted && missed === 0
        ? `all ${wanted} notes are right`
        : `${right} of ${wanted} notes are right`,
    );
  const none = (...kinds: FindingKind[]): boolean => !findings.some(({ kind }) => kinds.includes(kind));
  if (unevenSec !== null && none('late', 'early'))
    well.push(`even time: two notes in three within ${seconds(Math.max(0.01, unevenSec))} of your own beat`);
  const bends = notes.filter(({ bend, note }) => bend && note.intonation !== null);
  const good = bends.filter(({ cents }) => Math.abs(cents) <= tolerances.bendCents).length;
  if (bends.length > 0 && good >= GOOD_SHARE * bends.length)
    well.push(
      `${good} of ${bends.length} ${bends.length === 1 ? 'bend' : 'bends'} within ${tolerances.bendCents} cents`,
    );
  const clear = notes.filter(({ note }) => canBeJudged(note)).length;
  if (clear > 0 && none('second-reed')) {
    const excused = notes.filter(({ note }) => leaks(note, tolerances)).length;
    well.push(
      excused === 0
        ? `clean single notes: no second reed in ${counted(clear, 'note')}`
        : `no second reed but in ${counted(excused, 'note')} that ${excused === 1 ? 'has' : 'have'} one in the reference, too`,
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

function groupBy<T, K>(values: readonly T[], key: (value: T) => K): Map<K, T[]> {
  const groups = new Map<K, T[]>();
  for (const value of values) groups.set(key(value), [...(groups.get(key(value)) ?? []), value]);
  return groups;
}
