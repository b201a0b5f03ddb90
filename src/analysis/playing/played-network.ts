import type { SmallNetwork } from '../../decode/small-network.ts';
import { readFitted } from '../../fitted.ts';

/** Playing against talk, from eventFeatures. The file's card says what it was fitted on. */
export const PLAYED_NETWORK = readFitted<{ readonly played: SmallNetwork }>(
  './played-network.json',
  import.meta.url,
).played;
