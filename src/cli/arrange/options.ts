import type { TuneArguments } from '../options/tune.ts';
import type { CommonOptions } from '../terminal/command.ts';

export interface ArrangeCommandOptions extends CommonOptions, TuneArguments {
  readonly harp?: string;
  readonly tuning?: string;
  readonly harps?: string;
  readonly tunings?: string;
  readonly bends: 'none' | 'draw' | 'all';
  readonly over?: boolean;
  readonly keepKey?: boolean;
  readonly keepOctave?: boolean;
  readonly songKey?: string;
  readonly practice?: 'bends';
  readonly weights?: string;
  readonly limit?: number;
  readonly take?: number;
  readonly out?: string;
  readonly force?: boolean;
  readonly json?: boolean;
  readonly svg?: boolean;
  readonly tabStyle: 'signs' | 'letters' | 'arrows';
}
