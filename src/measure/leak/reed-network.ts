import type { SmallNetwork } from '../../decode/small-network.ts';
import { readFitted } from '../../fitted.ts';

/** A reed that sounds along against one that does not, from evidenceOf. The file's card says what it was fitted on. */
export const REED_NETWORK = readFitted<{ readonly reed: SmallNetwork }>(
  './reed-network.json',
  import.meta.url,
).reed;
