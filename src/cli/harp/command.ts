import { type Command, Option } from 'commander';
import { addTuningOptions, type HarpArguments } from '../options/harp.ts';
import { type CommandContext, type CommonOptions, examples } from '../terminal/command.ts';

interface Options extends CommonOptions, HarpArguments {
  readonly printed?: boolean;
  readonly position?: string;
  readonly show: 'notes' | 'degrees' | 'hz';
  readonly json?: boolean;
  readonly svg?: boolean;
  readonly measure?: string;
}

/** Adds `reedtrace harp`. */
export function registerHarp(program: Command, { io }: CommandContext): void {
  const command = program
    .command('harp')
    .summary('print the notes of a harp, hole by hole')
    .description('Prints the notes of a harp hole by hole: blow, draw, bends, overblows and overdraws.')
    .argument('[key]', 'key of the harp (hole-1 blow), such as C, Bb, F# or "low F"; C if omitted');
  addTuningOptions(command)
    .option(
      '--printed',
      'the key is the one printed on the harp, which for some tunings is not its hole-1 blow note',
    )
    .option('--position <number>', 'name degrees and notes from this position, such as 2, 2nd or cross')
    .addOption(
      new Option('--show <what>', 'what the chart shows')
        .choices(['notes', 'degrees', 'hz'])
        .default('notes'),
    )
    .addOption(new Option('--json', 'print the notes as JSON').conflicts('svg'))
    .addOption(new Option('--svg', 'print the chart as SVG').conflicts('measure'))
    .option(
      '--measure <audio>',
      'measure how your harp is tuned, from a recording of each reed held in turn; --json prints a file for --temperament',
    )
    .addHelpText(
      'after',
      examples([
        ['reedtrace harp A --position 2 --show degrees', 'scale degrees in E on an A harp'],
        ['reedtrace harp G --tuning natural-minor --printed', 'the harp that is sold as G minor'],
      ]),
    )
    .action(async (key: string | undefined, _own: Options, self: Command) => {
      const options = self.optsWithGlobals<Options>();
      const { describeHarp, harpJson, harpSvg, harpText } = await import('./chart.ts');
      const harp = await describeHarp(key, options);
      if (options.measure !== undefined) {
        const [{ measureRecording, measureJson, measureText }, { readRecording }, { transcribe, STAGES }] =
          await Promise.all([
            import('./measure.ts'),
            import('../../audio/read.ts'),
            import('../../pipeline.ts'),
          ]);
        const engine = { readRecording, transcribe, stages: STAGES };
        const measured = await measureRecording(
          options.measure,
          harp,
          { quiet: options.quiet ?? false },
          io,
          engine,
        );
        io.stdout.write(options.json ? measureJson(harp, measured) : measureText(harp, measured));
        return;
      }
      if (options.json) io.stdout.write(harpJson(harp));
      else if (options.svg) io.stdout.write(harpSvg(harp, options.show));
      else io.stdout.write(harpText(harp, options.show));
    });
}
