import { readFileSync } from 'node:fs';

/**
 * Where fitted weights come from and what they are worth, stored in the same file. What is unknown reads `not
 * recorded`.
 */
export interface WeightCard {
  /** What they predict, and from what. */
  readonly what: string;
  /** The data that they were fitted on. */
  readonly set: string;
  readonly seed: string;
  /** Relative to the repository. */
  readonly script: string;
  /** Makes the file again; run from the root of the repository. */
  readonly command: string;
  /** Figures on the data that they were fitted on. */
  readonly training: string;
  /** Figures by source on data that they were not fitted on. */
  readonly heldOut: string;
  /** Date of the fit: year, month, day. */
  readonly date: string;
}

/**
 * Reads fitted weights that come with the package.
 * @param name  of the JSON file
 * @param beside URL of a module in the same folder
 */
export function readFitted<Weights>(name: string, beside: string): Weights & { readonly card: WeightCard } {
  return JSON.parse(readFileSync(new URL(name, beside), 'utf8'));
}
