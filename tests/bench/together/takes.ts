import { type Rng, seededRng } from '../../../samples/synth/rng.ts';
import type { Degradation } from '../../../samples/synth/scene/roughen.ts';
import { CLEAN, EVERYDAY, type PlayingStyle, varied } from '../../../samples/synth/style.ts';
import type { TakeSpec } from '../../../samples/synth/take.ts';
import { HARP_KEYS } from '../../../src/harp/keys.ts';
import { CONDITIONS, type Condition, degradationOf } from '../sets/conditions.ts';

/** One take with several holes at once, and what happens to it on its way into the file. */
export interface TogetherTake {
  readonly spec: TakeSpec;
  readonly condition: Condition;
  readonly degradation: Degradation;
}

/** What is played: `runs` are tongued runs as quick as a shake, which must stay notes; in `bent` one of two holes is bent. */
export const KINDS = ['pairs', 'chords', 'octaves', 'shakes', 'mixed', 'runs', 'bent'] as const;
type Kind = (typeof KINDS)[number];

const OCTAVES = ['1+4', '2+5', '3+6', '-1+4', '-2+5', '-3+7', '4+7', '5+8', '6+9', '-4+8', '-5+9', '-6+10'];

/** Two holes of which the first is bent: what blues players bend (common practice, no source). */
const BENT_PAIRS = ["-2+3'", "-2+3''", "-3+2'", "-3+4'", "-4+5'", "-4+3'", "-6+5'", "-6+7'", "8+7'", "9+8'"];

/** A set of takes: each kind in each condition, `rounds` times. */
export function togetherTakes(seed: number, rounds = 1): TogetherTake[] {
  const root = seededRng(seed);
  return Array.from({ length: rounds }, (_, round) =>
    KINDS.flatMap((kind) =>
      CONDITIONS.map((condition): TogetherTake => {
        const rng = root.fork(`${kind} ${condition} ${round}`);
        const key = rng.pick(HARP_KEYS);
        const name = `${kind}-${condition}-${round + 1}-${key}`;
        return {
          condition,
          degradation: degradationOf(condition, rng),
          spec: {
            name,
            category: kind,
            harp: { key, tuning: 'richter', temperament: 'equal', a4Hz: 440 },
            tab: tabOf(kind, rng),
            style: styleOf(kind, rng),
            seed: Math.floor(rng.next() * 2 ** 31),
          },
        };
      }),
    ),
  ).flat();
}

function styleOf(kind: Kind, rng: Rng): PlayingStyle {
  const calm = { vibratoShare: 0.05, tremoloShare: 0.05, scoopShare: 0 };
  const style = { ...(rng.chance(0.5) ? CLEAN : EVERYDAY), ...calm };
  if (kind === 'runs')
    return { ...style, tempoBpm: rng.between([120, 165]), tongueShare: 1, timingSec: 0.004 };
  return { ...varied(style, rng), tempoBpm: rng.between([84, 120]) };
}

function tabOf(kind: Kind, rng: Rng): string {
  switch (kind) {
    case 'pairs':
      return phrases(rng, 4, () => (rng.chance(0.2) ? single(rng) : pair(rng)));
    case 'chords':
      return phrases(rng, 4, () => (rng.chance(0.2) ? single(rng) : chord(rng)));
    case 'octaves':
      return phrases(rng, 4, () => (rng.chance(0.25) ? single(rng) : rng.pick(OCTAVES)));
    case 'shakes':
      return shakes(rng);
    case 'mixed':
      return phrases(rng, 5, () =>
        rng.pick([single, single, pair, chord, (any: Rng) => any.pick(OCTAVES)])(rng),
      );
    case 'runs':
      return runs(rng);
    case 'bent':
      return phrases(rng, 4, () =>
        rng.chance(0.3) ? single(rng) : rng.chance(0.4) ? pair(rng) : rng.pick(BENT_PAIRS),
      );
  }
}

const sign = (rng: Rng): string => (rng.chance(0.5) ? '-' : '');
const from = (rng: Rng, low: number, high: number): number => Math.floor(rng.between([low, high + 1]));
const single = (rng: Rng): string => `${sign(rng)}${from(rng, 1, 9)}`;

function pair(rng: Rng): string {
  const hole = from(rng, 1, 8);
  return `${sign(rng)}${hole}+${hole + 1}`;
}

function chord(rng: Rng): string {
  const count = rng.chance(0.65) ? 3 : rng.chance(0.7) ? 4 : 5;
  const low = from(rng, 1, Math.max(1, 7 - count));
  return `${sign(rng)}${Array.from({ length: count }, (_, i) => low + i).join('+')}`;
}

/** Lines of what is drawn, now and then twice. */
function phrases(rng: Rng, count: number, draw: () => string): string {
  return Array.from({ length: count }, () => {
    const line: string[] = [];
    while (line.length < 5) {
      const what = draw();
      const beats = rng.pick([0.5, 0.5, 1, 1, 2]);
      for (let times = rng.chance(0.2) ? 2 : 1; times > 0; times--) line.push(`${what}:${beats}`);
    }
    return line.join(' ');
  }).join(' | ');
}

function shakes(rng: Rng): string {
  return Array.from({ length: 3 }, () => {
    const hole = from(rng, 2, 6);
    const breath = rng.chance(0.75) ? '-' : '';
    const shake = `${breath}${hole}w${hole + 1}:${rng.pick([1.5, 2, 3])}`;
    return `${single(rng)} ${single(rng)} ${shake} ${breath}${rng.chance(0.5) ? hole : hole + 1} ${single(rng)}`;
  }).join(' r:0.5 ');
}

/** Up and down in one breath, and to and fro between two holes, each note tongued. */
function runs(rng: Rng): string {
  return Array.from({ length: 3 }, () => {
    const breath = sign(rng);
    const low = from(rng, 2, 5);
    const up = [0, 1, 2, 3].map((step) => `${breath}${low + step}:0.25`);
    const turn = Array.from({ length: 8 }, (_, i) => `${breath}${low + (i % 2)}:0.25`);
    return [single(rng), ...(rng.chance(0.5) ? [...up, ...up.toReversed()] : turn), `${breath}${low}:1`].join(
      ' ',
    );
  }).join(' r:0.5 ');
}
