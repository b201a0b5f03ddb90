import { type Rng, seededRng } from '../../../samples/synth/rng.ts';
import type { Degradation } from '../../../samples/synth/scene/roughen.ts';
import { BALLAD, CLEAN, type PlayingStyle, STUDENT, varied } from '../../../samples/synth/style.ts';
import type { TakeSpec } from '../../../samples/synth/take.ts';
import { walk } from '../../../samples/synth/walk.ts';
import { EXERCISES, type ExerciseName, TUNES, type TuneName } from '../../../samples/tunes.ts';
import { HARP_KEYS } from '../../../src/harp/keys.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import type { HarpSpec } from '../../../src/harp/types.ts';

/** One take of a development set. */
export interface DevTake {
  readonly spec: TakeSpec;
  readonly degradation: Degradation;
  /** Where the sound comes from: the project's synthesiser, or a sampled instrument through fluidsynth. */
  readonly source: 'synth' | 'soundfont';
}

/** Seeds of the sets: `tune` may be developed on; `report` is only for reporting. */
export const SET_SEEDS = { tune: 20_250, report: 77_310 } as const;
export type SetName = keyof typeof SET_SEEDS;

const RICHTER: HarpSpec = { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 };
const tuneNames = Object.keys(TUNES) as TuneName[];
const BENDS: ExerciseName[] = [
  'low-holes',
  'bend-stairs',
  'bends-attacked',
  'blow-bends',
  'blues-lick',
  'blues-shuffle',
];
const FAST: ExerciseName[] = ['scale-runs', 'arpeggio-runs', 'repeat-drill'];
const OVER: ExerciseName[] = ['overblows', 'overblow-tune'];

/**
 * The takes of a set, over every kind of difficulty.
 * @param scale how many of each kind (1: about 160 takes)
 */
export function devTakes(set: SetName, scale = 1, seed: number = SET_SEEDS[set]): DevTake[] {
  const root = seededRng(seed);
  const takes: DevTake[] = [];
  const many = (
    category: string,
    count: number,
    make: (rng: Rng, index: number) => Partial<Recipe>,
  ): void => {
    for (let i = 0; i < Math.max(1, Math.round(count * scale)); i++) {
      const rng = root.fork(`${category} ${i}`);
      const recipe: Recipe = { tab: '', style: CLEAN, harp: someHarp(rng), degradation: {}, ...make(rng, i) };
      takes.push({
        source: recipe.source ?? 'synth',
        degradation: recipe.degradation,
        spec: {
          name: `${category}-${String(i + 1).padStart(2, '0')}-${recipe.harp.key.replace(/\s/g, '')}`,
          category,
          harp: recipe.harp,
          tab: recipe.tab,
          style: varied(recipe.style, rng),
          seed: Math.floor(rng.next() * 2 ** 31),
        },
      });
    }
  };

  many('clean', 14, (rng) => ({ tab: someTune(rng) }));
  many('fast', 12, (rng) => ({ tab: fastTab(rng), style: { ...CLEAN, tempoBpm: rng.between([84, 116]) } }));
  many('harps', 15, (rng, i) => ({
    harp: { ...RICHTER, key: [...HARP_KEYS, 'low F', 'low D', 'high G'][i % 15] },
    tab: rng.chance(0.4) ? EXERCISES['full-range'] : melody(rng, RICHTER, { bendShare: 0.08 }),
  }));
  many('tunings', 14, (rng, i) => {
    const tunings = [
      'raised-third',
      'richter',
      'country',
      'natural-minor',
      'richter',
      'harmonic-minor',
      'richter',
      'major-seventh',
      'dorian',
      'solo',
      'circular',
      'raised-third',
    ];
    const temperaments = [
      'equal',
      'just-7-limit',
      'equal',
      'equal',
      '19-limit',
      'equal',
      'just-1st',
      'equal',
      'equal',
      'equal',
      'equal',
      'compromise',
    ];
    const harp = {
      key: rng.pick(HARP_KEYS),
      tuning: tunings[i % 12],
      temperament: temperaments[i % 12],
      a4Hz: rng.pick([440, 441, 442, 443]),
    };
    return { harp, tab: rng.chance(0.3) ? EXERCISES['full-range'] : melody(rng, harp, { bendShare: 0.05 }) };
  });
  many('bends', 16, (rng) => ({
    tab: rng.chance(0.7) ? EXERCISES[rng.pick(BENDS)] : melody(rng, RICHTER, { bendShare: 0.35 }),
    style: { ...CLEAN, bendErrorCents: [-60, 60], glideSec: [0.06, 0.2], droopCents: [5, 25] },
  }));
  many('overbends', 8, (rng) => ({
    harp: { ...RICHTER, key: rng.pick(['G', 'A', 'Bb', 'C', 'D']) },
    tab: rng.chance(0.7) ? EXERCISES[rng.pick(OVER)] : melody(rng, RICHTER, { overShare: 0.25 }),
    style: { ...CLEAN, bendErrorCents: [-30, 30] },
  }));
  many('ballad', 14, (rng) => ({
    tab: rng.chance(0.3) ? EXERCISES['long-tones'] : someTune(rng),
    style: { ...BALLAD, tempoBpm: rng.between([66, 96]) },
  }));
  many('leaky', 10, (rng, i) => ({
    tab: someTune(rng),
    style: { ...CLEAN, leakShare: 0.85, leakDb: i % 2 ? [-30, -6] : [-16, -6] },
  }));
  many('rough', 22, (rng, i) => ({
    tab: mixedTab(rng),
    style: i % 4 === 3 ? BALLAD : CLEAN,
    degradation: roughKind(rng, i),
  }));
  many('talk', 8, (rng) => ({
    tab: someTune(rng),
    degradation: { talk: { pauses: 4, sec: [2, 5], db: rng.between([-6, 5]) } },
  }));
  many('click', 4, (rng) => ({ tab: someTune(rng), degradation: { clickDb: rng.between([-18, -6]) } }));
  many('guitar', 8, (rng, i) => ({
    tab: mixedTab(rng),
    degradation: {
      guitarDb: rng.between([-24, -18]),
      ...(i % 2 ? { rt60: rng.between([0.25, 0.5]), drr: rng.between([0, 6]) } : {}),
    },
  }));
  many('lifelike', 30, (rng, i) => ({
    tab: i % 6 === 5 ? fastTab(rng) : mixedTab(rng),
    style: i % 5 === 4 ? { ...STUDENT, ...balladParts } : STUDENT,
    degradation: lifelike(rng),
  }));
  many('soundfont', 8, (rng) => ({
    tab: plain(someTune(rng)),
    style: { ...CLEAN, tempoBpm: rng.between([88, 120]) },
    source: 'soundfont',
  }));
  return takes;
}

interface Recipe {
  readonly tab: string;
  readonly style: PlayingStyle;
  readonly harp: HarpSpec;
  readonly degradation: Degradation;
  readonly source?: DevTake['source'];
}

const balladParts = {
  tempoBpm: 72,
  vibratoShare: BALLAD.vibratoShare,
  vibratoCents: BALLAD.vibratoCents,
  tremoloShare: BALLAD.tremoloShare,
  scoopShare: 0.3,
};

const someHarp = (rng: Rng): HarpSpec => ({ ...RICHTER, key: rng.pick(HARP_KEYS) });

const someTune = (rng: Rng): string => TUNES[rng.pick(tuneNames)];

/** Tunes, made-up melodies and bent phrases, mixed. */
function mixedTab(rng: Rng): string {
  const kind = rng.next();
  if (kind < 0.5) return someTune(rng);
  if (kind < 0.75) return melody(rng, RICHTER, { bendShare: 0.15 });
  return EXERCISES[rng.pick(BENDS)];
}

const fastTab = (rng: Rng): string =>
  rng.chance(0.5)
    ? EXERCISES[rng.pick(FAST)]
    : walk(
        playableNotes(RICHTER),
        {
          notes: 56,
          beats: [0.25, 0.25, 0.25, 0.5],
          bendShare: 0,
          overShare: 0,
          repeatShare: 0.15,
          holes: [2, 9],
        },
        rng,
      );

function melody(rng: Rng, harp: HarpSpec, shares: { bendShare?: number; overShare?: number }): string {
  return walk(
    playableNotes(harp),
    {
      notes: 38,
      beats: [0.5, 0.5, 1, 1, 1, 1.5, 2],
      bendShare: shares.bendShare ?? 0,
      overShare: shares.overShare ?? 0,
      repeatShare: 0.15,
      holes: rng.chance(0.5)
        ? [1, 10]
        : rng.pick([
            [1, 6],
            [3, 8],
            [4, 10],
          ] as const),
    },
    rng,
  );
}

/** One fault after another, so that every set has all of them. */
function roughKind(rng: Rng, index: number): Degradation {
  const kinds: (() => Degradation)[] = [
    () => ({ rt60: rng.between([0.3, 0.6]), drr: rng.between([-3, 4]) }),
    () => ({
      phone: 'narrow',
      rt60: rng.between([0.2, 0.4]),
      drr: rng.between([0, 6]),
      snr: rng.between([15, 25]),
    }),
    () => ({ snr: rng.between([10, 20]), noise: 'white' }),
    () => ({
      snr: rng.between([10, 15]),
      noise: 'pink',
      rt60: rng.between([0.3, 0.6]),
      drr: rng.between([0, 6]),
    }),
    () => ({ humDb: rng.between([-20, -6]), rt60: 0.4, drr: rng.between([0, 6]) }),
    () => ({ clip: rng.between([0.3, 0.7]), snr: 25 }),
    () => ({ sampleRateHz: 16_000, rt60: rng.between([0.3, 0.7]), drr: rng.between([-2, 4]), snr: 20 }),
    () => ({ deadChannel: true, snr: rng.between([15, 30]) }),
    () => ({ speedPercent: rng.chance(0.5) ? 0.3 : -0.3, snr: 25 }),
    () => ({ rt60: rng.between([0.6, 0.9]), drr: rng.between([-4, 2]), snr: rng.between([15, 25]) }),
    () => ({
      phone: 'wide',
      rt60: rng.between([0.3, 0.6]),
      drr: rng.between([-3, 4]),
      snr: rng.between([15, 25]),
    }),
  ];
  const kind = kinds[index % kinds.length]();
  if (kind.rt60 !== undefined || rng.chance(0.4)) return kind;
  return { ...kind, rt60: rng.between([0.3, 0.7]), drr: rng.between([-3, 4]) };
}

/** Everything at once: a room, its noise, a phone's band and levelling, a lossy codec. */
const lifelike = (rng: Rng): Degradation => ({
  rt60: rng.between([0.25, 0.6]),
  drr: rng.between([-3, 5]),
  snr: rng.between([15, 26]),
  noise: 'pink',
  ...(rng.chance(0.7) ? { phone: rng.chance(0.35) ? ('narrow' as const) : ('wide' as const) } : {}),
  ...(rng.chance(0.15) ? { handling: true } : {}),
  ...(rng.chance(0.15) ? { talk: { pauses: 1, sec: [1, 2.5] as const, db: rng.between([-8, 2]) } } : {}),
  codec: rng.pick(['opus16', 'opus24', 'aac64', 'mp3']),
});

/** Without bends and glides, which a sampled instrument can't play. */
const plain = (tab: string): string => tab.replace(/~/g, '').replace(/'+/g, '');
