import type { CommonOptions } from '../terminal/command.ts';

export interface PlayOptions extends CommonOptions {
  readonly sound: 'recording' | 'tab' | 'both';
  readonly recording?: string;
  readonly phrase?: PhraseRange;
  readonly speed: number;
  /** `true` for one bar. */
  readonly countIn?: number | true;
  readonly answer?: boolean;
  readonly loop?: boolean;
  readonly out?: string;
  readonly force?: boolean;
}

/** Phrases as people count them, from 1, both inclusive. */
export interface PhraseRange {
  readonly first: number;
  readonly last: number;
}
