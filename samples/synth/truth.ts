import type { Breath, HarpSpec, PlayableNote } from '../../src/harp/types.ts';
import type { NoteOrnament } from '../../src/tab/ornament.ts';
import type { PlannedNote, Start } from './plan.ts';
import type { RenderedTake, RenderedVoice } from './render.ts';

/** One note as it was sounded. Field meanings: `TakeTruth`. */
export interface TruthNote {
  readonly onsetSec: number;
  readonly offsetSec: number;
  readonly f0Hz: number;
  readonly nominalMidi: number;
  readonly cents: number;
  readonly hole: number;
  readonly breath: Breath;
  readonly bend: number;
  readonly over: boolean;
  readonly start: Start;
  readonly leak: { readonly hole: number; readonly dB: number } | null;
  readonly sustainSec: readonly [number, number];
  /** All holes that sound, ascending, where there is more than one. */
  readonly holes?: readonly number[];
  /** How far each of them is bent, in semitones, if any is. */
  readonly holeBends?: readonly number[];
  /** Of a shake: notes of both holes a second. */
  readonly shakePerSec?: number;
  /** Ornaments of the note, however small. */
  readonly ornaments?: readonly NoteOrnament[];
}

/**
 * What is really in a synthetic take. Onset after a silence, a breath change or a jump: the power of the note's own
 * partials passes 15 dB below its early level; slur: middle of the cross-fade; glide: pitch half-way; tongued repeat:
 * the level starts to rise again. Offset: the next onset if the sound goes on, else the power falls through -15 dB.
 * `f0Hz` is the mean true pitch over `sustainSec`; `cents` its distance from the nominal note in equal temperament
 * at the harp's A4; `dB` the level of a second reed against the first.
 */
export interface TakeTruth {
  readonly audio: string;
  readonly harp: {
    readonly key: string;
    readonly layout: string;
    readonly temperament: string;
    readonly a4Hz: number;
    readonly blowMidi: readonly number[];
    readonly drawMidi: readonly number[];
  };
  readonly category: string;
  readonly seed: number;
  readonly tab: string;
  readonly tempoBpm: number;
  readonly degradation: Readonly<Record<string, unknown>>;
  /** Stretches in which somebody talks. */
  readonly talkSec: readonly (readonly [number, number])[];
  readonly notes: readonly TruthNote[];
}

const EARLY_SEC = 0.15;
const THRESHOLD = 10 ** (-15 / 10);
const SETTLE_SEC = 0.07;
const RELEASE_SEC = 0.03;

export function truthHarp(spec: HarpSpec, playable: readonly PlayableNote[]): TakeTruth['harp'] {
  const row = (breath: Breath): number[] =>
    playable.filter((n) => n.breath === breath && n.bend === 0 && !n.over).map((n) => n.midi);
  return {
    key: spec.key,
    layout: spec.tuning,
    temperament: spec.temperament,
    a4Hz: spec.a4Hz,
    blowMidi: row('blow'),
    drawMidi: row('draw'),
  };
}

/** Reads onsets, offsets and pitches off the contours that were rendered. */
export function truthNotes(take: RenderedTake, a4Hz: number): TruthNote[] {
  const sounded = take.voices.flatMap((rendered) =>
    rendered.voice.notes.map((planned, index) => ({ rendered, planned, index })),
  );
  const onsets = sounded.map(({ rendered, planned, index }) =>
    index === 0 && planned.start !== 'slur' ? passesUp(rendered, take.sampleRate) : planned.beginSec,
  );
  return withShakes(
    sounded.map(({ rendered, planned, index }, i) => {
      const next = sounded[i + 1];
      const goesOn = next && (next.planned.start === 'slur' || next.rendered === rendered);
      const onsetSec = onsets[i];
      const offsetSec = goesOn ? onsets[i + 1] : passesDown(rendered, take.sampleRate, onsetSec);
      return truthNote(rendered, planned, index, onsetSec, offsetSec, take.sampleRate, a4Hz);
    }),
    sounded.map(({ planned }) => planned),
  );
}

/** Notes, with the turns of each shake joined. */
export function withShakes(notes: readonly TruthNote[], plan: readonly PlannedNote[]): TruthNote[] {
  const events: TruthNote[] = [];
  for (const [i, note] of notes.entries()) {
    const { turn } = plan[i];
    if (turn === null || turn === 0) {
      events.push(note);
      continue;
    }
    const first = events[events.length - 1];
    events[events.length - 1] = {
      ...first,
      offsetSec: note.offsetSec,
      ...(turn === 1 ? { holes: [first.hole, note.hole].sort((a, b) => a - b) } : {}),
      shakePerSec: round((turn + 1) / (note.offsetSec - first.onsetSec), 2),
    };
  }
  return events;
}

function truthNote(
  rendered: RenderedVoice,
  planned: PlannedNote,
  index: number,
  onsetSec: number,
  offsetSec: number,
  sampleRate: number,
  a4Hz: number,
): TruthNote {
  const nextIn = rendered.voice.notes[index + 1];
  const settled = Math.max(
    onsetSec + SETTLE_SEC,
    planned.scoop ? planned.beginSec + planned.scoop.sec + 0.02 : 0,
    planned.start === 'glide' ? planned.beginSec + planned.joinSec / 2 + 0.01 : 0,
  );
  const ends =
    offsetSec - Math.max(RELEASE_SEC, nextIn ? nextIn.joinSec / 2 + (nextIn.dip?.fallSec ?? 0) : 0);
  const length = offsetSec - onsetSec;
  const sustain: [number, number] =
    ends - settled >= 0.03 ? [settled, ends] : [onsetSec + 0.5 * length, onsetSec + 0.8 * length];
  const f0Hz = meanHz(rendered, sustain, sampleRate);
  const { note, leak } = planned;
  const nominalHz = a4Hz * 2 ** ((note.midi - 69) / 12);
  return {
    onsetSec: round(onsetSec, 4),
    offsetSec: round(offsetSec, 4),
    f0Hz: round(f0Hz, 3),
    nominalMidi: note.midi,
    cents: round(1200 * Math.log2(f0Hz / nominalHz), 2),
    hole: note.hole,
    breath: note.breath,
    bend: note.bend,
    over: note.over,
    start: planned.start,
    leak: leak ? { hole: leak.note.hole, dB: round(leak.levelDb, 2) } : null,
    sustainSec: [round(sustain[0], 4), round(sustain[1], 4)],
    ...truthBeside(planned),
  };
}

/** Holes and ornaments of a note as they were planned. */
export function truthBeside(planned: PlannedNote): Pick<TruthNote, 'holes' | 'holeBends' | 'ornaments'> {
  const { note, beside, scoop, fall, vibrato, tremolo, hand, beginSec, endSec, turn } = planned;
  const holes = [note.hole, ...beside.map((reed) => reed.note.hole)].sort((a, b) => a - b);
  const ornaments: NoteOrnament[] = [
    ...(scoop
      ? [{ kind: 'scoop' as const, fromCents: -round(scoop.cents, 1), durationSec: round(scoop.sec, 3) }]
      : []),
    ...(vibrato
      ? [{ kind: 'vibrato' as const, rateHz: round(vibrato.hz, 2), depthCents: round(vibrato.depth, 1) }]
      : []),
    ...(tremolo
      ? [{ kind: 'tremolo' as const, rateHz: round(tremolo.hz, 2), depthDb: round(2 * tremolo.depth, 1) }]
      : []),
    ...(hand
      ? [
          {
            kind: 'hand' as const,
            changes: hand.hz > 0 ? Math.max(1, Math.floor(2 * hand.hz * (endSec - beginSec))) : 1,
            ...(hand.hz > 0 ? { rateHz: round(hand.hz, 2) } : {}),
            depthDb: round(hand.lowDb, 1),
            brightnessDb: round(hand.highDb - hand.lowDb, 1),
          },
        ]
      : []),
    ...(fall
      ? [{ kind: 'fall' as const, toCents: -round(fall.cents, 1), durationSec: round(fall.sec, 3) }]
      : []),
  ];
  const isBent = holes.length > 1 && note.bend > 0 && turn === null;
  return {
    ...(holes.length > 1 ? { holes } : {}),
    ...(isBent ? { holeBends: holes.map((hole) => (hole === note.hole ? note.bend : 0)) } : {}),
    ...(ornaments.length > 0 && turn === null ? { ornaments } : {}),
  };
}

const round = (value: number, digits: number): number => Math.round(value * 10 ** digits) / 10 ** digits;

const timeAt = ({ contour }: RenderedVoice, at: number, sampleRate: number): number =>
  (contour.firstSample + at * contour.hop) / sampleRate;

function earlyPower(rendered: RenderedVoice, fromSec: number, sampleRate: number): number {
  let most = 0;
  for (let c = 0; c < rendered.power.length; c++) {
    const t = timeAt(rendered, c, sampleRate);
    if (t >= fromSec && t <= fromSec + EARLY_SEC) most = Math.max(most, rendered.power[c]);
  }
  return most;
}

/** When the first note of a voice passes 15 dB below its early level, interpolated between values in dB. */
function passesUp(rendered: RenderedVoice, sampleRate: number): number {
  const { power } = rendered;
  const [first, second] = rendered.voice.notes;
  const early = earlyPower(rendered, first.beginSec, sampleRate);
  // A fast repeat comes before the first note is at its full level: then its own peak counts.
  const wanted =
    (second && second.beginSec < first.beginSec + EARLY_SEC
      ? Math.min(early, peakBefore(rendered, second, sampleRate))
      : early) * THRESHOLD;
  for (let c = 1; c < power.length; c++) {
    if (power[c] < wanted) continue;
    const below = Math.max(power[c - 1], wanted * 1e-3);
    const share = Math.log(wanted / below) / Math.log(power[c] / below);
    return timeAt(rendered, c - 1 + Math.max(0, Math.min(1, share)), sampleRate);
  }
  return first.beginSec;
}

function peakBefore(rendered: RenderedVoice, next: PlannedNote, sampleRate: number): number {
  const until = next.beginSec - (next.dip?.fallSec ?? 0);
  let most = 0;
  for (let c = 0; c < rendered.power.length && timeAt(rendered, c, sampleRate) <= until; c++) {
    most = Math.max(most, rendered.power[c]);
  }
  return most;
}

/** When the last note of a voice falls through 15 dB below its early level for good. */
function passesDown(rendered: RenderedVoice, sampleRate: number, onsetSec: number): number {
  const { power } = rendered;
  const wanted = earlyPower(rendered, onsetSec, sampleRate) * THRESHOLD;
  for (let c = power.length - 1; c > 0; c--) if (power[c] >= wanted) return timeAt(rendered, c, sampleRate);
  return timeAt(rendered, power.length - 1, sampleRate);
}

/** Mean pitch, averaged in cents. */
function meanHz(rendered: RenderedVoice, [from, to]: readonly [number, number], sampleRate: number): number {
  let sum = 0;
  let count = 0;
  for (let c = 0; c < rendered.contour.cents.length; c++) {
    const t = timeAt(rendered, c, sampleRate);
    if (t < from || t > to) continue;
    sum += rendered.contour.cents[c];
    count++;
  }
  if (count === 0) {
    const middle = Math.round(
      (((from + to) / 2) * sampleRate - rendered.contour.firstSample) / rendered.contour.hop,
    );
    return (
      2 ** (rendered.contour.cents[Math.max(0, Math.min(rendered.contour.cents.length - 1, middle))] / 1200)
    );
  }
  return 2 ** (sum / count / 1200);
}
