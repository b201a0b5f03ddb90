import type { SmallNetwork } from '../../decode/small-network.ts';
import { readFitted } from '../../fitted.ts';

/** Tells playing from talk; its inputs are `eventFeatures`. */
export const PLAYED_NETWORK = readFitted<{ readonly played: SmallNetwork }>(
  './played-network.json',
  import.meta.url,
).played;
