import type { MusicArguments } from '../options/music.ts';
import type { SheetArguments } from '../options/sheet.ts';
import type { CommonOptions } from '../terminal/command.ts';

export interface ExportCommandOptions extends CommonOptions, MusicArguments, SheetArguments {
  readonly as: string;
  readonly out?: string;
  readonly force?: boolean;
  readonly title?: string;
  readonly by?: string;
  readonly csvDecimal?: 'point' | 'comma';
  readonly lengths?: boolean;
  readonly repeats?: 'full' | 'once';
  readonly asPlayed?: boolean;
  readonly columns: number;
  /** False with `--no-audio`. */
  readonly audio: boolean;
  readonly recording?: string;
  readonly against?: string;
  readonly notes?: string;
  readonly tuning?: string;
  readonly temperament?: string;
  /** False with `--no-save`. */
  readonly save: boolean;
  readonly tabStyle: 'signs' | 'letters' | 'arrows';
}
