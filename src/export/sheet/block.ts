import type { Mark } from './marks.ts';

/** Something on a page that must not be cut: marks relative to its top left corner. */
export interface Block {
  readonly height: number;
  readonly marks: readonly Mark[];
  /** Space after it, which is dropped at the end of a page. */
  readonly gap: number;
  /** Stays with the block after it. */
  readonly withNext?: boolean;
  /** Begins a section, which is better not divided between pages. */
  readonly beginsSection?: boolean;
}
