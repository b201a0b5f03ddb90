import { type Rng, seededRng } from '../../../samples/synth/rng.ts';
import type { Degradation } from '../../../samples/synth/scene/roughen.ts';
import { BALLAD, EVERYDAY, HOMEWORK, type PlayingStyle, varied } from '../../../samples/synth/style.ts';
import { walk } from '../../../samples/synth/walk.ts';
import { EXERCISES, type ExerciseName, TUNES, type TuneName } from '../../../samples/tunes.ts';
import { HARP_KEYS } from '../../../src/harp/keys.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import type { HarpSpec } from '../../../src/harp/types.ts';
import type { DevTake } from './devset.ts';

/** Seeds of the hard sets: `hard` may be developed on; `hard-report` is only for reporting. */
export const HARD_SEEDS = { hard: 41_870, 'hard-report': 95_024 } as const;
export type HardSetName = keyof typeof HARD_SEEDS;

const RICHTER: HarpSpec = { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 };
const tuneNames = Object.keys(TUNES) as TuneName[];
const PHRASES: ExerciseName[] = ['bend-stairs', 'blues-lick', 'blues-shuffle', 'low-holes', 'blow-bends'];
const SEC = 15;
/** Takes from a sampled instrument among rough, fast, click and guitar takes: one in this many. */
const SAMPLED_EVERY = 4;
const SAMPLED = ['rough', 'guitar', 'click', 'fast'];

interface Recipe {
  readonly tab: string;
  readonly style: PlayingStyle;
  readonly degradation: Degradation;
}

/**
 * The kinds of take that are hard, in short takes with many repeats: rooms by geometry, players who turn away and blow
 * unevenly, phones that have turned their gain up, poorer codecs, busier accompaniment.
 */
export function hardTakes(set: HardSetName, scale = 1, seed: number = HARD_SEEDS[set]): DevTake[] {
  const root = seededRng(seed);
  const takes: DevTake[] = [];
  const many = (category: string, count: number, make: (rng: Rng, index: number) => Recipe): void => {
    for (let i = 0; i < Math.max(1, Math.round(count * scale)); i++) {
      const rng = root.fork(`${category} ${i}`);
      const recipe = make(rng, i);
      const sampled = SAMPLED.includes(category) && i % SAMPLED_EVERY === SAMPLED_EVERY - 1;
      const style = varied(recipe.style, rng);
      const harp = { ...RICHTER, key: rng.pick(HARP_KEYS) };
      takes.push({
        source: sampled ? 'soundfont' : 'synth',
        degradation: recipe.degradation,
        spec: {
          name: `${category}-${String(i + 1).padStart(2, '0')}-${harp.key}`,
          category,
          harp,
          // A sampled instrument can't bend, and repeats by stopping.
          tab: excerpt(sampled ? recipe.tab.replace(/[~']/g, '') : recipe.tab, style.tempoBpm, rng),
          style: sampled ? { ...style, stopShare: 1, gapSec: [0.012, 0.045] } : style,
          seed: Math.floor(rng.next() * 2 ** 31),
        },
      });
    }
  };
  many('lifelike', 26, (rng, i) => ({
    tab: i % 6 === 5 ? fastTab(rng) : someTab(rng),
    style: i % 5 === 4 ? SLOW_HOMEWORK : { ...HOMEWORK, tempoBpm: rng.between([80, 120]) },
    degradation: lifelike(rng),
  }));
  many('rough', 24, (rng, i) => ({
    tab: i % 8 === 6 ? fastTab(rng) : someTab(rng),
    style: i % 4 === 2 ? SLOW_EVERYDAY : { ...EVERYDAY, tempoBpm: rng.between([84, 126]) },
    degradation: rough(rng, i),
  }));
  many('guitar', 12, (rng, i) => ({
    tab: withBreaks(someTab(rng), rng),
    style: { ...EVERYDAY, tempoBpm: rng.between([76, 116]) },
    degradation: {
      guitarDb: rng.between([-24, -18]),
      guitar: {
        strokeBeats: rng.pick([0.5, 1, 2, 4]),
        capo: rng.pick([0, 3, 7]),
        ...(i % 4 === 0 ? {} : { dullHz: rng.between([500, 1600]) }),
        ...(i % 3 ? { aloneSec: [rng.between([1, 5]), rng.between([1, 4])] as const } : {}),
      },
      ...(i % 3 ? room(rng) : {}),
      ...(rng.chance(0.5) ? { snr: rng.between([20, 32]), noise: 'lived-in' as const } : {}),
    },
  }));
  many('click', 8, (rng, i) => ({
    tab: i % 4 === 1 ? fastTab(rng) : someTab(rng),
    style: { ...EVERYDAY, tempoBpm: rng.between([76, 126]) },
    degradation: {
      clickDb: rng.between([-14, 0]),
      metronome: { make: rng.pick(['beep', 'wood', 'noise'] as const), perBeat: rng.pick([1, 1, 2]) },
      ...(i % 2 ? room(rng) : {}),
    },
  }));
  many('talk', 6, (rng, i) => ({
    tab: someTab(rng),
    style: { ...EVERYDAY, tempoBpm: rng.between([80, 116]) },
    degradation: {
      talk: { pauses: 6, sec: [2, 5], db: rng.between([-8, 6]) },
      ...(i % 2 ? { ...room(rng), snr: rng.between([20, 30]) } : {}),
    },
  }));
  many('leaky', 6, (rng) => ({
    tab: someTab(rng),
    style: { ...EVERYDAY, tempoBpm: rng.between([84, 116]), leakShare: 0.9, leakDb: [-18, -5] },
    degradation: {},
  }));
  many('bends', 8, (rng) => ({
    tab: EXERCISES[rng.pick(PHRASES)],
    style: {
      ...EVERYDAY,
      tempoBpm: rng.between([76, 108]),
      bendErrorCents: [-60, 60],
      glideSec: [0.06, 0.22],
    },
    degradation: {},
  }));
  many('fast', 12, (rng) => ({
    tab: fastTab(rng),
    style: { ...EVERYDAY, timingSec: 0.01, tempoBpm: rng.between([92, 126]) },
    degradation: {},
  }));
  return takes;
}

const slow = (style: PlayingStyle): PlayingStyle => ({
  ...style,
  tempoBpm: 72,
  scoopShare: 0.3,
  vibratoShare: BALLAD.vibratoShare,
  vibratoCents: BALLAD.vibratoCents,
  tremoloShare: BALLAD.tremoloShare,
  tremoloDb: BALLAD.tremoloDb,
});
const SLOW_HOMEWORK = slow(HOMEWORK);
const SLOW_EVERYDAY = slow(EVERYDAY);

/** Half of it tunes, most of the rest made-up melodies in which notes are often repeated. */
function someTab(rng: Rng): string {
  const kind = rng.next();
  if (kind < 0.45) return TUNES[rng.pick(tuneNames)];
  if (kind < 0.6) return EXERCISES[rng.pick(PHRASES)];
  return walked(rng, [0.5, 0.5, 1, 1, 1, 1.5, 2], 40, rng.between([0.15, 0.45]), 0.1);
}

const fastTab = (rng: Rng): string => walked(rng, [0.25, 0.25, 0.25, 0.5], 60, rng.between([0.15, 0.4]), 0);

function walked(
  rng: Rng,
  beats: readonly number[],
  notes: number,
  repeatShare: number,
  bendShare: number,
): string {
  const holes = rng.pick([
    [1, 6],
    [3, 8],
    [2, 9],
  ] as const);
  const options = { notes, beats, bendShare, overShare: 0, repeatShare, holes };
  return withHandyHoles(walk(playableNotes(RICHTER), options, rng));
}

/** 2 draw and 3 blow are one pitch: a player takes the one that needs no change of breath, else 2 draw. */
function withHandyHoles(tab: string): string {
  const signs = tab.split(' ');
  const breath = (sign: string | undefined): string | null =>
    !sign || sign === '|' ? null : /^~?-/.test(sign) ? 'draw' : 'blow';
  const either = /^(3|-2)(:[\d.]+)?$/;
  let before: string | null = null;
  return signs
    .map((sign, i) => {
      const found = either.exec(sign);
      if (!found) {
        before = breath(sign);
        return sign;
      }
      const next = signs.slice(i + 1).find((later) => !either.test(later));
      const hole = (before ?? breath(next)) === 'blow' ? '3' : '-2';
      before = breath(hole);
      return `${hole}${found[2] ?? ''}`;
    })
    .join(' ');
}

/** Bars of rest after some of the phrases. */
const withBreaks = (tab: string, rng: Rng): string =>
  tab.replace(/\|/g, () => (rng.chance(0.5) ? `r:${rng.pick([2, 4])} |` : '|'));

/** About SEC seconds of a tune, from the beginning of one of its phrases on. */
export function excerpt(tab: string, tempoBpm: number, rng: Rng): string {
  const phrases = tab.split('|').map((phrase) => phrase.trim().split(/\s+/));
  const first = Math.floor(rng.next() * Math.max(1, phrases.length - 2));
  const signs = phrases.slice(first).flatMap((phrase, i) => (i > 0 ? ['|', ...phrase] : phrase));
  let beats = 0;
  const most = (SEC * tempoBpm) / 60;
  const kept = signs.filter((sign) => {
    const fits = beats < most;
    if (sign !== '|') beats += Number(/:([\d.]+)$/.exec(sign)?.[1] ?? 1);
    return fits;
  });
  while (kept.at(-1) === '|') kept.pop();
  // A phrase may begin with a glide from the last one, which is not played here.
  return kept.join(' ').replace(/^~/, '');
}

/**
 * A home, with a phone half a metre to two metres away. Where direct and reverberant sound are equally loud is half a
 * metre from a source in such rooms (0.057 √(V / T60), metres); a player who faces the phone gains about 3 dB.
 */
const room = (rng: Rng): Degradation => ({
  rt60: rng.between([0.3, 0.7]),
  drr: rng.between([-9, 2]),
  walls: true,
});

/** One fault after another, most of them in a room with its noise, so that every set has all of them. */
function rough(rng: Rng, index: number): Degradation {
  const noisy = (from: number, to: number): Degradation => ({
    snr: rng.between([from, to]),
    noise: rng.pick(['pink', 'white', 'lived-in'] as const),
  });
  const phone = (): Degradation => ({
    phone: rng.chance(0.7) ? 'narrow' : 'wide',
    turnedUp: rng.chance(0.7),
  });
  const kinds: (() => Degradation)[] = [
    () => ({ ...room(rng), ...noisy(12, 20) }),
    () => ({ ...phone(), ...room(rng), ...noisy(15, 25) }),
    () => ({ ...room(rng), rt60: rng.between([0.6, 0.9]), drr: rng.between([-9, 0]), ...noisy(15, 25) }),
    () => ({ ...phone(), ...noisy(18, 28) }),
    () => ({ ...noisy(10, 14) }),
    () => ({ ...room(rng), humDb: rng.between([-18, -6]), ...noisy(18, 28) }),
    () => ({ ...room(rng), clip: rng.between([0.3, 0.7]), ...noisy(20, 30) }),
    () => ({ ...room(rng), sampleRateHz: 16_000, ...noisy(15, 25) }),
    () => ({ ...room(rng), deadChannel: true, ...noisy(15, 30) }),
    () => ({ ...room(rng), speedPercent: rng.chance(0.5) ? 0.3 : -0.3, ...noisy(18, 28) }),
  ];
  const fault = kinds[index % kinds.length]();
  return rng.chance(0.4) && fault.rt60 !== undefined ? { ...fault, wanderDb: rng.between([1.5, 4]) } : fault;
}

/** Everything at once. */
const lifelike = (rng: Rng): Degradation => ({
  ...room(rng),
  wanderDb: rng.between([1, 4.5]),
  snr: rng.between([15, 27]),
  noise: rng.chance(0.6) ? 'lived-in' : 'pink',
  ...(rng.chance(0.7)
    ? { phone: rng.chance(0.4) ? ('narrow' as const) : ('wide' as const), turnedUp: rng.chance(0.7) }
    : {}),
  ...(rng.chance(0.12) ? { handling: true } : {}),
  ...(rng.chance(0.15) ? { talk: { pauses: 1, sec: [1, 2.5] as const, db: rng.between([-8, 2]) } } : {}),
  codec: rng.pick(['opus12', 'opus16', 'opus24', 'aac32', 'aac64', 'mp3low', 'mp3']),
});
