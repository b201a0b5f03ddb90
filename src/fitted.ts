import { readFileSync } from 'node:fs';

/** Where fitted weights come from and what they are worth; stands beside them in their file. `not recorded` is said as such. */
export interface WeightCard {
  /** What they tell, and from what. */
  readonly what: string;
  /** The data that they were fitted on. */
  readonly set: string;
  readonly seed: string;
  /** Relative to the repository. */
  readonly script: string;
  /** Makes the file again, from the root of the repository. */
  readonly command: string;
  /** Figures on what they were fitted on. */
  readonly training: string;
  /** Figures by source on what they were not fitted on. */
  readonly heldOut: string;
  /** Of the fit: year, month, day. */
  readonly date: string;
}

/**
 * Reads fitted weights as the package brings them.
 * @param name  of the JSON file
 * @param beside  URL of the module that it stands beside
 */
export function readFitted<Weights>(name: string, beside: string): Weights & { readonly card: WeightCard } {
  return JSON.parse(readFileSync(new URL(name, beside), 'utf8'));
}
