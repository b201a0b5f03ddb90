import type { SmallNetwork } from '../../decode/small-network.ts';
import { readFitted } from '../../fitted.ts';

/** One whole note of just these pitches against all else, from claimFeatures. The file's card says what it was fitted on. */
export const CLAIM_NETWORK = readFitted<{ readonly claim: SmallNetwork }>(
  './claim-network.json',
  import.meta.url,
).claim;
