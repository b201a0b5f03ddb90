import type { SmallNetwork } from '../../decode/small-network.ts';
import { readFitted } from '../../fitted.ts';

/** Tell whether a note has a tremolo, and whether hands; their inputs are the evidence of `levelMoves`. */
export const LEVEL_NETWORKS = readFitted<{ readonly tremolo: SmallNetwork; readonly hand: SmallNetwork }>(
  './level-network.json',
  import.meta.url,
);
