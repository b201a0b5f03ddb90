import { readFitted } from '../../../fitted.ts';
import type { WAY_FEATURES } from './way-features.ts';

type WayWeights = Readonly<Record<(typeof WAY_FEATURES)[number], number>>;

/** What each feature of a way adds to the natural log of its probability. */
export const WAY_WEIGHTS = readFitted<{ readonly weights: WayWeights }>(
  './way-weights.json',
  import.meta.url,
).weights;
