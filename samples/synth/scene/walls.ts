import { addInto, convolve } from '../dsp.ts';
import type { Range, Rng } from '../rng.ts';
import { bandPass, biquad } from './degrade.ts';

/** A rectangular room with a player and a microphone in it. Metres from one corner; absorption of energy, 0 to 1. */
export interface Shoebox {
  readonly sizeM: Vector;
  readonly playerM: Vector;
  readonly microphoneM: Vector;
  /** For the pair of walls on each axis: below and above the frequency where the halves meet. */
  readonly lowAbsorption: Vector;
  readonly highAbsorption: Vector;
}

type Vector = readonly [x: number, y: number, z: number];

const SOUND_M_PER_SEC = 343;
/** Sabine's constant, seconds per metre. */
const SABINE = 0.161;
const HALVES_MEET_HZ = 1500;
/** Below this frequency the method is too loud, since all its walls reflect in phase. */
const METHOD_LOWEST_HZ = 60;
/** Images beyond the first few come this share early or late: no real room is a perfect box. */
const JITTER = 0.008;
const MOST_IMAGES_SEC = 0.9;
const EARLY_SEC = 0.01;
const MID_HZ: Range = [500, 4000];

/**
 * Kitchens, bedrooms and living rooms, a phone half a metre to two metres away. One pair of walls may be barer than
 * the others, which makes a flutter echo; soft furnishing takes more of the high parts.
 * @param rt60Sec decay by 60 dB that the absorption is set for (Sabine's formula)
 */
export function someRoom(rt60Sec: number, rng: Rng): Shoebox {
  const between = (range: Range): number => rng.between(range);
  const sizeM: Vector = [between([2.2, 5.5]), between([2.6, 4.5]), between([2.3, 2.8])];
  const [x, y, z] = sizeM;
  const playerM: Vector = [x * between([0.25, 0.75]), y * between([0.25, 0.75]), between([1.1, 1.6])];
  const away = between([0.4, 2]);
  const angle = between([0, 2 * Math.PI]);
  const within = (value: number, size: number): number => Math.max(0.15, Math.min(size - 0.15, value));
  const microphoneM: Vector = [
    within(playerM[0] + away * Math.cos(angle), x),
    within(playerM[1] + away * Math.sin(angle), y),
    between([0.7, 1.3]),
  ];
  const areas: Vector = [2 * y * z, 2 * x * z, 2 * x * y];
  const wanted = (SABINE * x * y * z) / rt60Sec;
  const bare = rng.chance(0.5) ? Math.floor(rng.next() * 2) : -1;
  const weights = areas.map((_, axis) => between([0.75, 1.3]) * (axis === bare ? 0.45 : 1));
  const scale = wanted / areas.reduce((sum, area, axis) => sum + area * weights[axis], 0);
  const tilt = between([0.75, 1.35]);
  const absorption = (factor: number): Vector => {
    const of = (axis: number): number => Math.min(0.95, scale * weights[axis] * factor);
    return [of(0), of(1), of(2)];
  };
  return {
    sizeM,
    playerM,
    microphoneM,
    lowAbsorption: absorption(1 / tilt),
    highAbsorption: absorption(tilt),
  };
}

/**
 * What the room adds to a click of the player: every reflection by the image method (Allen and Berkley, JASA 65,
 * 943-950, 1979), without the direct sound; what comes later than 10 ms has the energy of the click from 500 Hz to
 * 4 kHz (what comes earlier colours the sound but fills no gap). Sample 0 is the direct sound's arrival.
 * @param lengthSec how much of the decay is computed, at most 0.9 s
 */
export function reflections(room: Shoebox, lengthSec: number, sampleRate: number, rng: Rng): Float32Array {
  const length = Math.ceil(Math.min(MOST_IMAGES_SEC, lengthSec) * sampleRate);
  const low = new Float32Array(length);
  const high = new Float32Array(length);
  const directM = Math.hypot(...room.playerM.map((at, axis) => at - room.microphoneM[axis]));
  const reachM = directM + (length / sampleRate) * SOUND_M_PER_SEC;
  const [along, across, up] = [0, 1, 2].map((axis) => imagesOnAxis(room, axis, reachM));
  for (const a of along) {
    for (const b of across) {
      const flat = a.offsetM ** 2 + b.offsetM ** 2;
      if (flat > reachM ** 2) continue;
      for (const c of up) {
        const hits = a.hits + b.hits + c.hits;
        if (hits === 0) continue;
        const farM = Math.sqrt(flat + c.offsetM ** 2) * (hits > 2 ? 1 + JITTER * (2 * rng.next() - 1) : 1);
        const at = Math.round(((farM - directM) / SOUND_M_PER_SEC) * sampleRate);
        if (at < 1 || at >= length) continue;
        low[at] += (a.low * b.low * c.low) / farM;
        high[at] += (a.high * b.high * c.high) / farM;
      }
    }
  }
  const response = biquad(
    addInto(
      biquad(low, sampleRate, HALVES_MEET_HZ, 'low'),
      biquad(high, sampleRate, HALVES_MEET_HZ, 'high'),
      0,
    ),
    sampleRate,
    METHOD_LOWEST_HZ,
    'high',
  );
  const late = midEnergy(response, sampleRate, EARLY_SEC);
  const click = new Float32Array(Math.ceil(0.05 * sampleRate));
  click[0] = 1;
  const scale = Math.sqrt(midEnergy(click, sampleRate, 0) / late);
  return response.map((value) => value * scale);
}

/** Energy from a time on, where a harp's strong partials lie. */
function midEnergy(response: Float32Array, sampleRate: number, fromSec: number): number {
  const band = bandPass(response, sampleRate, MID_HZ);
  let energy = 0;
  for (let n = Math.floor(fromSec * sampleRate); n < band.length; n++) energy += band[n] ** 2;
  return energy;
}

interface AxisImage {
  /** From the microphone. */
  readonly offsetM: number;
  readonly hits: number;
  /** What is left of the pressure after those hits. */
  readonly low: number;
  readonly high: number;
}

function imagesOnAxis(room: Shoebox, axis: number, reachM: number): AxisImage[] {
  const size = room.sizeM[axis];
  const [low, high] = [room.lowAbsorption, room.highAbsorption].map((of) => Math.sqrt(1 - of[axis]));
  const images: AxisImage[] = [];
  const most = Math.ceil(reachM / size) + 1;
  for (let n = -most; n <= most; n++) {
    // Even numbers of reflections shift the player by whole rooms, odd ones mirror him first.
    const player = n % 2 === 0 ? room.playerM[axis] : size - room.playerM[axis];
    const offsetM = n * size + player - room.microphoneM[axis];
    const hits = Math.abs(n);
    if (Math.abs(offsetM) <= reachM) images.push({ offsetM, hits, low: low ** hits, high: high ** hits });
  }
  return images;
}

/**
 * The take in a room; the direct sound keeps its time.
 * @param directToReverbDb direct sound against what comes more than 10 ms after it
 * @param nearness gain of the direct sound over time; reflections follow its square root, as they come from all sides
 */
export function betweenWalls(
  samples: Float32Array,
  sampleRate: number,
  room: { readonly rt60Sec: number; readonly directToReverbDb: number },
  nearness: Float32Array | null,
  rng: Rng,
): Float32Array {
  const response = reflections(someRoom(room.rt60Sec, rng), room.rt60Sec, sampleRate, rng);
  const gain = 10 ** (-room.directToReverbDb / 20);
  const sent = nearness ? samples.map((value, n) => value * Math.sqrt(nearness[n])) : samples;
  const reverberant = convolve(
    sent,
    response.map((value) => value * gain),
  );
  const out = new Float32Array(samples.length + Math.floor(response.length / 2));
  for (let n = 0; n < samples.length; n++) out[n] = samples[n] * (nearness ? nearness[n] : 1);
  return addInto(out, reverberant.subarray(0, out.length), 0);
}

const TURN_SEC = 2.5;
const CONTROL_SEC = 0.05;

/** A player who turns and leans: the gain of the direct sound, a slow wander with this standard deviation in dB. */
export function wandering(length: number, sampleRate: number, db: number, rng: Rng): Float32Array {
  const step = Math.round(CONTROL_SEC * sampleRate);
  const values: number[] = [];
  let at = rng.normal() * db;
  let smooth = at;
  for (let i = 0; i <= length / step + 1; i++) {
    at += (-at * CONTROL_SEC) / TURN_SEC + rng.normal() * db * Math.sqrt((2 * CONTROL_SEC) / TURN_SEC);
    smooth += 0.15 * (at - smooth);
    values.push(Math.max(-2.5 * db, Math.min(1.5 * db, smooth)));
  }
  return Float32Array.from({ length }, (_, n) => {
    const i = Math.floor(n / step);
    const share = n / step - i;
    return 10 ** ((values[i] + (values[i + 1] - values[i]) * share) / 20);
  });
}
