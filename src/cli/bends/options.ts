import type { DateArguments } from '../options/dates.ts';
import type { HarpArguments } from '../options/harp.ts';
import type { TuneArguments } from '../options/tune.ts';
import type { CommonOptions } from '../terminal/command.ts';

export interface BendsCommandOptions extends CommonOptions, HarpArguments, TuneArguments, DateArguments {
  readonly against?: string;
  readonly tolerance: number;
  readonly judgeBy: 'harp' | 'equal';
  readonly practice?: boolean;
  readonly json?: boolean;
  readonly csv?: boolean;
  readonly svg?: boolean;
  readonly html?: string;
  readonly force?: boolean;
  readonly tabStyle: 'signs' | 'letters' | 'arrows';
}
