import type { SmallNetwork } from '../../decode/small-network.ts';
/** One whole note of just these pitches, against all else. By tests/bench/fit/fit-claim.ts; the inputs are those of claimFeatures. */
export const CLAIM_NETWORK: SmallNetwork = {
  bias: 0.05991,
  direct: [0.5503, -0.01294, -0.09998, 0.1508, 0.4264, -0.6577, -0.3667, -1.055, 0.01578, 0.5729, -1.459],
  hidden: [],
};
