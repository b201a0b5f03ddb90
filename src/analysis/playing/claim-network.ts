import type { SmallNetwork } from '../../decode/small-network.ts';
import { readFitted } from '../../fitted.ts';

/** Tells whether an event is one whole note of just its pitches; its inputs are `claimFeatures`. */
export const CLAIM_NETWORK = readFitted<{ readonly claim: SmallNetwork }>(
  './claim-network.json',
  import.meta.url,
).claim;
