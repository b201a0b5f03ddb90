import type { Rng } from '../../../samples/synth/rng.ts';
import type { Degradation } from '../../../samples/synth/scene/roughen.ts';

/** Ways into the file. */
export const CONDITIONS = ['clean', 'room', 'phone', 'codec'] as const;
export type Condition = (typeof CONDITIONS)[number];

/** A room, a phone or a codec as it comes. */
export function degradationOf(condition: Condition, rng: Rng): Degradation {
  const room = { rt60: rng.between([0.25, 0.6]), drr: rng.between([-2, 5]), walls: true };
  switch (condition) {
    case 'clean':
      return {};
    case 'room':
      return { ...room, snr: rng.between([25, 40]) };
    case 'phone':
      return { ...room, snr: rng.between([18, 28]), phone: rng.chance(0.3) ? 'narrow' : 'wide' };
    case 'codec':
      return { ...room, snr: rng.between([18, 28]), codec: rng.pick(['opus16', 'opus24', 'aac64', 'mp3']) };
  }
}
