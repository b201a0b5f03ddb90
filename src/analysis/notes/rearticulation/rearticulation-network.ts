import type { SmallNetwork } from '../../../decode/small-network.ts';
import { readFitted } from '../../../fitted.ts';

/** Tells re-articulations from other dips; its inputs are `networkInputs`. */
export const REARTICULATION_NETWORK = readFitted<{ readonly rearticulation: SmallNetwork }>(
  './rearticulation-network.json',
  import.meta.url,
).rearticulation;
