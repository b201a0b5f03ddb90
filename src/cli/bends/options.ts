import type { HarpArguments } from '../options/harp.ts';
import type { CommonOptions } from '../terminal/command.ts';

export interface BendsCommandOptions extends CommonOptions, HarpArguments {
  readonly tolerance: number;
  readonly judgeBy: 'harp' | 'equal';
  readonly json?: boolean;
  readonly csv?: boolean;
  readonly svg?: boolean;
  readonly tabStyle: 'signs' | 'letters' | 'arrows';
}
