import { median } from '../statistics.ts';
import { centsBetween, hzToMidi, midiToHz } from '../units.ts';
import { HOLES } from './layouts.ts';
import { naturalReeds } from './playable.ts';
import { reedCents, TEMPERAMENTS } from './temperaments.ts';
import type { Breath, CustomHarp, HarpSpec, PlayableNote, Temperament } from './types.ts';

/** One reed as it was heard. */
interface MeasuredReed {
  readonly hole: number;
  readonly breath: Breath;
  /** Integer MIDI number of the nominal pitch. */
  readonly midi: number;
  /** Median of its notes; null when the reed was not heard. */
  readonly f0Hz: number | null;
  /** How many of its notes were heard. */
  readonly count: number;
  /** Against the equal step at the measured A4; null when not heard. */
  readonly equalCents: number | null;
  /** Against the measured A4 and the nearest temperament: how far out of tune it is; null when not heard. */
  readonly offCents: number | null;
}

/** What a calibration take shows about a harp. */
export interface HarpMeasurement {
  /** A4 on which the reeds agree best. */
  readonly a4Hz: number;
  /** The named temperament that fits best, and the mean of what is left over, in cents. */
  readonly nearest: string;
  readonly residualCents: number;
  /** Hole by hole, blow before draw. */
  readonly reeds: readonly MeasuredReed[];
  /** From blow to draw reed in each hole, measured minus nominal at the nearest temperament; null when not heard. */
  readonly gapCents: readonly (number | null)[];
  /** The harp's own table; a reed that was not heard has the value of the nearest temperament. */
  readonly table: Extract<Temperament, { kind: 'reeds' }>;
  /** Notes of the take that fitted no reed in that order. */
  readonly strayNotes: number;
}

/**
 * A note further than this from a reed is not that reed: half a semitone, the widest deviation that a table may hold.
 */
const FARTHEST_SEMITONES = 0.5;
/** Cost of leaving out a note or a reed, in semitones of distance: more than that of any reed that is out of tune. */
const SKIP = 1;
const REPEAT = 0.05;

/**
 * Measures a harp from a take in which each reed was held in turn: hole by hole (blow then draw, or draw then blow), or
 * all blow then all draw, up or down; reeds may be left out or repeated. The order decides between reeds of the same
 * pitch (2 draw and 3 blow of a Richter harp).
 * @param heardHz  pitches of the held notes in the order played, > 0
 * @param spec  the harp; its temperament and A4 do not matter
 * @returns null when fewer than half of the reeds were heard
 */
export function measureHarp(
  heardHz: readonly number[],
  spec: HarpSpec,
  custom: CustomHarp = {},
): HarpMeasurement | null {
  const reeds = naturalReeds(
    { ...spec, temperament: 'equal' },
    custom.layout ? { layout: custom.layout } : {},
  );
  const matched = match(heardHz, reeds);
  const heard = reeds.map((reed) => {
    const own = matched.get(reed);
    return own === undefined || own.length === 0 ? null : median(own);
  });
  if (heard.filter((hz) => hz !== null).length < reeds.length / 2) return null;

  const tonicMidi = reeds[0].midi;
  const nominal = (temperament: Temperament, { midi, hole, breath }: PlayableNote): number =>
    midi + reedCents(temperament, hole, breath, midi - tonicMidi) / 100;
  const fits = TEMPERAMENTS.map((temperament) => {
    const off = heard.flatMap((hz, i) =>
      hz === null ? [] : [100 * (hzToMidi(hz) - nominal(temperament, reeds[i]))],
    );
    const centre = median(off);
    const residualCents = off.reduce((sum, cents) => sum + Math.abs(cents - centre), 0) / off.length;
    return { temperament, centre, residualCents };
  });
  const best = fits.reduce((a, b) => (b.residualCents < a.residualCents ? b : a));
  const a4Hz = midiToHz(69 + best.centre / 100);

  const measured = reeds.map((reed, i): MeasuredReed => {
    const hz = heard[i];
    const { hole, breath, midi } = reed;
    return {
      hole,
      breath,
      midi,
      f0Hz: hz,
      count: matched.get(reed)?.length ?? 0,
      equalCents: hz === null ? null : centsBetween(hz, midiToHz(midi, a4Hz)),
      offCents: hz === null ? null : centsBetween(hz, midiToHz(nominal(best.temperament, reed), a4Hz)),
    };
  });
  const row = (breath: Breath) =>
    measured
      .filter((reed) => reed.breath === breath)
      .map(
        (reed) => reed.equalCents ?? reedCents(best.temperament, reed.hole, breath, reed.midi - tonicMidi),
      );
  const find = (hole: number, breath: Breath) =>
    measured.find((reed) => reed.hole === hole && reed.breath === breath)!.offCents;
  return {
    a4Hz,
    nearest: best.temperament.id,
    residualCents: best.residualCents,
    reeds: measured,
    gapCents: Array.from({ length: HOLES }, (_, i) => {
      const [blow, draw] = [find(i + 1, 'blow'), find(i + 1, 'draw')];
      return blow === null || draw === null ? null : draw - blow;
    }),
    table: {
      kind: 'reeds',
      id: 'custom',
      name: `measured ${spec.key} harp`,
      blow: row('blow'),
      draw: row('draw'),
    },
    strayNotes: heardHz.length - [...matched.values()].reduce((sum, list) => sum + list.length, 0),
  };
}

/** Notes by reed, for the order of playing that fits best. */
function match(heardHz: readonly number[], reeds: readonly PlayableNote[]): Map<PlayableNote, number[]> {
  const blow = reeds.filter((reed) => reed.breath === 'blow');
  const draw = reeds.filter((reed) => reed.breath === 'draw');
  const up = [
    reeds,
    blow.flatMap((reed, i) => [draw[i], reed]),
    [...blow, ...draw],
    [...draw, ...blow],
    [...blow, ...[...draw].reverse()],
    [...draw, ...[...blow].reverse()],
  ];
  const orders = [...up, ...up.map((order) => [...order].reverse())];
  const heard = heardHz.map((hz) => hzToMidi(hz));
  // The harp as a whole may be tuned sharp or flat: by the median distance to the nearest semitone.
  const shared = heard.length === 0 ? 0 : median(heard.map((midi) => midi - Math.round(midi)));
  const aligned = orders.map((order) =>
    align(
      heard.map((midi) => midi - shared),
      order,
    ),
  );
  const best = aligned.reduce((a, b) => (b.cost < a.cost ? b : a));
  const byReed = new Map<PlayableNote, number[]>();
  for (const [note, reed] of best.pairs) byReed.set(reed, [...(byReed.get(reed) ?? []), heardHz[note]]);
  return byReed;
}

/** The cheapest way to assign notes to reeds in order (dynamic programming over notes and reeds). */
function align(
  heard: readonly number[],
  order: readonly PlayableNote[],
): { cost: number; pairs: [note: number, reed: PlayableNote][] } {
  const width = order.length + 1;
  const cost = new Float64Array((heard.length + 1) * width).fill(Number.POSITIVE_INFINITY);
  const step = new Uint8Array(cost.length);
  const LEAVE_REED = 1;
  const LEAVE_NOTE = 2;
  const TAKE = 3;
  const TAKE_AGAIN = 4;
  cost[0] = 0;
  const improve = (at: number, points: number, how: number): void => {
    if (points < cost[at]) {
      cost[at] = points;
      step[at] = how;
    }
  };
  for (let i = 0; i <= heard.length; i++) {
    for (let j = 0; j < width; j++) {
      const at = i * width + j;
      if (j > 0) improve(at, cost[at - 1] + SKIP, LEAVE_REED);
      if (i === 0) continue;
      improve(at, cost[at - width] + SKIP, LEAVE_NOTE);
      if (j === 0) continue;
      const far = Math.abs(heard[i - 1] - order[j - 1].midi);
      if (far > FARTHEST_SEMITONES) continue;
      improve(at, cost[at - width - 1] + far, TAKE);
      if (step[at - width] === TAKE || step[at - width] === TAKE_AGAIN) {
        improve(at, cost[at - width] + far + REPEAT, TAKE_AGAIN);
      }
    }
  }
  const pairs: [number, PlayableNote][] = [];
  let i = heard.length;
  let j = order.length;
  while (i > 0 || j > 0) {
    const how = step[i * width + j];
    if (how === TAKE || how === TAKE_AGAIN) pairs.push([i - 1, order[j - 1]]);
    if (how !== LEAVE_REED) i--;
    if (how === LEAVE_REED || how === TAKE) j--;
  }
  return { cost: cost[cost.length - 1], pairs };
}
