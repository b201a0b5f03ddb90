import type { SmallNetwork } from '../../decode/small-network.ts';
import { readFitted } from '../../fitted.ts';

const fitted = readFitted<{ readonly played: SmallNetwork; readonly whole: SmallNetwork }>(
  './played-network.json',
  import.meta.url,
);

/** Playing against talk, from eventFeatures. The file's card says what it was fitted on. */
export const PLAYED_NETWORK = fitted.played;

/** A whole note against a short piece of one, from eventFeatures. The file's card says what it was fitted on. */
export const WHOLE_NETWORK = fitted.whole;
