import type { SheetArguments } from '../options/sheet.ts';
import type { CommonOptions } from '../terminal/command.ts';

/** Options of `reedtrace lesson`. */
export interface LessonCommandOptions extends CommonOptions, SheetArguments {
  readonly out?: string;
  readonly name: string;
  readonly title?: string;
  readonly by?: string;
  readonly plan?: string;
  readonly easier?: boolean;
  readonly once?: boolean;
  /** False with `--no-audio`. */
  readonly audio: boolean;
  readonly force?: boolean;
  readonly tabStyle: 'signs' | 'letters' | 'arrows';
}
