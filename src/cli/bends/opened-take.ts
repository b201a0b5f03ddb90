import type { Reference } from '../../check/align/reference.ts';
import type { DatedTake } from '../../check/bends/dated-take.ts';
import type { DateFrom } from '../hear/played-on.ts';

/** A take, its path, and what it was compared with. */
export interface OpenedTake extends DatedTake {
  readonly path: string;
  readonly dateFrom: DateFrom | null;
  readonly reference: Reference | null;
}
