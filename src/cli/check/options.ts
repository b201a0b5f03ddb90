import type { DateArguments } from '../options/dates.ts';
import type { HarpArguments } from '../options/harp.ts';
import type { TuneArguments } from '../options/tune.ts';
import type { CommonOptions } from '../terminal/command.ts';

export interface CheckCommandOptions extends CommonOptions, HarpArguments, TuneArguments, DateArguments {
  readonly against: string;
  readonly before?: string;
  readonly line?: readonly [first: number, last: number];
  readonly adviceWeights?: string;
  readonly strict?: boolean;
  readonly judgeBy: 'harp' | 'equal';
  readonly bendTolerance: number;
  readonly timeTolerance: number;
  readonly leakFrom: number;
  readonly pass?: number;
  readonly json?: boolean;
  readonly csv?: boolean;
  readonly svg?: boolean;
  readonly weeks?: boolean;
  readonly out?: string;
  readonly tabStyle: 'signs' | 'letters' | 'arrows';
}
