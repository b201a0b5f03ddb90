import type { CommonOptions } from '../terminal/command.ts';

export interface RecordingCommandOptions extends CommonOptions {
  readonly json?: boolean;
}
