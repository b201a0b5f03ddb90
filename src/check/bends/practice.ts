import { findPlayable, playableNotes } from '../../harp/playable.ts';
import { sameTab, type TabNote } from '../../tab/tab-note.ts';
import type { Take } from '../../take/schema.ts';
import { countedInWords } from '../../text/counted.ts';
import { type ReferenceNote, takeHarp } from '../align/reference.ts';
import { holeName, placeInWords, sectionInWords } from '../words.ts';
import type { PlayedBend } from './collect.ts';
import type { BendSummary } from './summary.ts';

/** The note from which a bend is reached. */
export interface Approach {
  /** The note before, as tab; null at the start of a phrase. */
  readonly from: string | null;
  /** On the same hole in the same breath the pitch can glide down. */
  readonly glides: boolean;
  readonly count: number;
}

/** One bend as practice. */
export interface PracticeBend {
  readonly tab: TabNote;
  readonly summary: BendSummary;
  /** Pitch of the target and of the unbent reed on the pupil's harp, in Hz. */
  readonly targetHz: number;
  readonly plainHz: number;
  /** `bar 3 on "joy"`: where it is in the tune, or in the takes if no tune is named. */
  readonly places: readonly string[];
  /** The commonest first. */
  readonly approaches: readonly Approach[];
  readonly best: PlayedBend;
  /** The attempt, other than the best, nearest to the median; the best itself when there is only one. */
  readonly typical: PlayedBend;
  /** Sentences about what can be heard, each with its number. */
  readonly listen: readonly string[];
  readonly steps: readonly PracticeStep[];
}

/** One thing to do, and for how long. */
interface PracticeStep {
  readonly sec: number;
  readonly text: string;
}

/** A few minutes of practice on the bends that need it most. */
export interface PracticePlan {
  readonly bends: readonly PracticeBend[];
  readonly minutes: number;
  readonly cautions: readonly string[];
}

/** More than three bends take longer than a few minutes. */
const MOST_BENDS = 3;
/** From these values on, it is mentioned how long a bend takes to arrive, how it wavers, and how it drifts. */
const SLOW_SEC = 0.25;
const WAVERS_CENTS = 8;
const MOST_PLACES = 4;
/** Nobody who is playing can tell slower beats from a steady tone. */
const SLOWEST_BEATS = 2;

const CAUTIONS: readonly string[] = [
  'Bends need little air: if it takes force, stop and begin again softly. Rest when you are out of breath, and stop if you feel dizzy or anything hurts; a doctor knows more than any plan.',
  'How a bend is made with mouth and tongue is best shown by a teacher; this plan speaks only of what you can hear.',
];

/**
 * A plan for the bends that need most work.
 * @param summaries those that need most work first
 * @param tune  the notes of the tune, where one is named: it says where a bend sits and what comes before it
 */
export function practicePlan(
  summaries: readonly BendSummary[],
  toleranceCents: number,
  tune: readonly ReferenceNote[] | null,
): PracticePlan {
  const bends = summaries
    .slice(0, MOST_BENDS)
    .flatMap((summary) => bendPractice(summary, toleranceCents, tune) ?? []);
  const sec = bends.reduce((sum, { steps }) => sum + steps.reduce((all, step) => all + step.sec, 0), 0);
  return { bends, minutes: Math.max(1, Math.round(sec / 60)), cautions: CAUTIONS };
}

function bendPractice(
  summary: BendSummary,
  toleranceCents: number,
  tune: readonly ReferenceNote[] | null,
): PracticeBend | null {
  const { notes, medianCents } = summary;
  const tab: TabNote = {
    hole: summary.hole,
    breath: summary.breath,
    bend: summary.bend,
    over: summary.over,
  };
  const away = (cents: number): number => Math.abs(cents);
  const best = nearest(notes, ({ cents }) => away(cents));
  const others = notes.filter((note) => note !== best);
  const typical = others.length === 0 ? best : nearest(others, ({ cents }) => away(cents - medianCents));
  const harp = playableNotes(typical.take.harp);
  const target = findPlayable(harp, tab);
  const plain = findPlayable(harp, { ...tab, bend: 0, over: false });
  if (target === undefined || plain === undefined) return null;
  const { places, approaches, section } = tune === null ? inTakes(notes) : inTune(tab, tune);
  return {
    tab,
    summary,
    targetHz: target.f0Hz,
    plainHz: plain.f0Hz,
    places,
    approaches,
    best,
    typical,
    listen: listenFor(summary, target.f0Hz, toleranceCents),
    steps: stepsFor(tab, approaches[0] ?? null, section),
  };
}

function nearest(notes: readonly PlayedBend[], distance: (note: PlayedBend) => number): PlayedBend {
  return notes.reduce((best, note) => (distance(note) < distance(best) ? note : best));
}

interface Where extends Pick<PracticeBend, 'places' | 'approaches'> {
  /** What to play to practise it in the tune: `bar 3`, `its line`. */
  readonly section: string;
}

function inTune(tab: TabNote, tune: readonly ReferenceNote[]): Where {
  const there = tune.flatMap((note, b) => (note.tab !== null && sameTab(note.tab, tab) ? [b] : []));
  return {
    section: there.length === 0 ? 'its line' : sectionInWords(tune[there[0]]),
    places: [...new Set(there.map((b) => placeInWords(tune[b])))].slice(0, MOST_PLACES),
    approaches: counts(
      there.map((b) => {
        const before = b === 0 || tune[b].line !== tune[b - 1].line ? null : tune[b - 1].tab;
        return approachOf(tab, before);
      }),
    ),
  };
}

function inTakes(notes: readonly PlayedBend[]): Where {
  const oneTake = notes.every(({ take }) => take === notes[0].take);
  const placed = notes.map(({ take, note, takeName, onsetSec, ...tab }) => {
    const index = take.notes.indexOf(note);
    const starts = take.phrases.some(({ firstNote }) => firstNote === index);
    return {
      place: oneTake ? `${onsetSec.toFixed(1)} s` : `${onsetSec.toFixed(1)} s of ${takeName}`,
      approach: approachOf(tab, index <= 0 || starts ? null : take.notes[index - 1]),
    };
  });
  return {
    section: 'its line',
    places: placed.slice(0, MOST_PLACES).map(({ place }) => place),
    approaches: counts(placed.map(({ approach }) => approach)),
  };
}

function approachOf(tab: TabNote, before: TabNote | null): Omit<Approach, 'count'> {
  return {
    from: before === null ? null : holeName(before),
    glides: before !== null && before.hole === tab.hole && before.breath === tab.breath && !tab.over,
  };
}

function counts(approaches: readonly Omit<Approach, 'count'>[]): Approach[] {
  const found = new Map<string | null, Approach>();
  for (const approach of approaches) {
    const count = (found.get(approach.from)?.count ?? 0) + 1;
    found.set(approach.from, { ...approach, count });
  }
  return [...found.values()].sort((a, b) => b.count - a.count);
}

/** `twice from -3, on the same hole` */
export function approachInWords({ from, glides, count }: Approach): string {
  const times = count === 1 ? 'once' : count === 2 ? 'twice' : `${count} times`;
  if (from === null) return `${times} at the start of a phrase`;
  return glides ? `${times} from ${from}, on the same hole` : `${times} from ${from}`;
}

function listenFor(
  { over, bend, notes, steadinessCents, settleSec }: BendSummary,
  targetHz: number,
  toleranceCents: number,
): string[] {
  const missed = notes.filter(({ cents }) => Math.abs(cents) > toleranceCents);
  const listen: string[] = [];
  if (missed.length > 0) {
    const off = missed.reduce((sum, { cents }) => sum + cents, 0) / missed.length;
    const beats = Math.abs(targetHz * 2 ** (off / 1200) - targetHz);
    const where = over ? (off > 0 ? 'sharp' : 'flat') : off > 0 ? 'above the target' : 'below the target';
    listen.push(
      `${missed.length} of ${countedInWords(notes.length, 'attempt')} missed, ${Math.round(Math.abs(off))} cents ${where}${missed.length === 1 ? '' : ' on average'}. Is yours still ${off > 0 ? 'higher' : 'lower'} than the tone you hear?`,
      ...(beats >= SLOWEST_BEATS
        ? [
            `Played together with the target, such a note beats ${Math.round(beats)} times a second; as you come nearer the beats slow down, and on the target they stop.`,
          ]
        : []),
    );
  } else {
    listen.push('It is in tune. Listen: does it start there, or slide there?');
  }
  if (settleSec >= SLOW_SEC)
    listen.push(
      `It takes ${settleSec.toFixed(1)} s to arrive. Listen to the first moment of the note: is it there at once?`,
    );
  if (steadinessCents >= WAVERS_CENTS)
    listen.push(
      `It wavers by ${Math.round(steadinessCents)} cents while you hold it. Listen for one straight tone, four beats long.`,
    );
  if (bend === 2)
    listen.push('On the way down you pass the half-tone bend: hear it go by, and do not stop there.');
  return listen;
}

/** Common practice, no source. */
function stepsFor(tab: TabNote, approach: Approach | null, section: string): PracticeStep[] {
  const name = holeName(tab);
  const plain = holeName({ ...tab, bend: 0, over: false });
  const way = tab.over
    ? `Hear ${name}, then play it softly and hold it for four beats; five times, with a breath between.`
    : `Play ${plain}, slide down to ${name}, hold it for four beats, let it up again; five times, with a breath between.`;
  return [
    { sec: 10, text: `Hear the target of ${name} three times, and hum it.` },
    { sec: 30, text: way },
    { sec: 20, text: `Start on ${name} itself, against the target; five times.` },
    ...(approach === null || approach.from === null || approach.from === plain
      ? []
      : [{ sec: 20, text: `Play ${approach.from} ${name} slowly, as in the tune; five times.` }]),
    {
      sec: 20,
      text: `Play ${section} at half speed, twice, then a little faster.`,
    },
  ];
}

/** True when the takes are on harps to which the tune's tab applies. */
export function tuneOnHarp(tune: readonly ReferenceNote[], take: Take): ReferenceNote[] {
  const harp = takeHarp(take);
  return tune.map((note) => {
    if (note.tab !== null) return note;
    const found = harp.find(({ midi, over }) => midi === note.midi && !over);
    return found === undefined
      ? note
      : { ...note, tab: { hole: found.hole, breath: found.breath, bend: found.bend, over: found.over } };
  });
}
