import type { SmallNetwork } from '../../../decode/small-network.ts';
import { readFitted } from '../../../fitted.ts';

/** The same note struck again against a dip that is none, from networkInputs. The file's card says what it was fitted on. */
export const REARTICULATION_NETWORK = readFitted<{ readonly rearticulation: SmallNetwork }>(
  './rearticulation-network.json',
  import.meta.url,
).rearticulation;
