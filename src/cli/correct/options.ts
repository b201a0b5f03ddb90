import type { HarpArguments } from '../options/harp.ts';
import type { CommonOptions } from '../terminal/command.ts';

export interface CorrectOptions extends CommonOptions, HarpArguments {
  readonly recording?: string;
}
