import type { SmallNetwork } from '../../decode/small-network.ts';
import { readFitted } from '../../fitted.ts';

/** Tells whether a second reed sounds; its inputs are `evidenceOf`. */
export const REED_NETWORK = readFitted<{ readonly reed: SmallNetwork }>(
  './reed-network.json',
  import.meta.url,
).reed;
