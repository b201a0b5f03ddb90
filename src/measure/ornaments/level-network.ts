import type { SmallNetwork } from '../../decode/small-network.ts';
import { readFitted } from '../../fitted.ts';

/** A tremolo, or hands, against all else, from the evidence of levelMoves. The file's card says what they were fitted on. */
export const LEVEL_NETWORKS = readFitted<{ readonly tremolo: SmallNetwork; readonly hand: SmallNetwork }>(
  './level-network.json',
  import.meta.url,
);
