import { availableParallelism } from 'node:os';
import type { Command } from 'commander';
import { ReedtraceError } from '../../errors.ts';
import { parseShard, type Shard } from '../files/shard.ts';
import { addHarpOptions, type HarpArguments } from '../options/harp.ts';
import { addMusicOptions, type MusicArguments } from '../options/music.ts';
import { styleOption } from '../options/style.ts';
import { type CommandContext, type CommonOptions, examples } from '../terminal/command.ts';

interface Options extends CommonOptions, HarpArguments, MusicArguments {
  readonly out?: string;
  readonly save: boolean;
  readonly force?: boolean;
  readonly keepAll?: boolean;
  readonly json?: boolean;
  readonly shard?: Shard;
  readonly tabStyle: 'signs' | 'letters' | 'arrows';
}

/** Each thread holds a recording: 173 MB per hour of sound. */
const MOST_THREADS = 8;
/** Enough recordings in progress that waiting for a long one keeps no thread idle. */
const AHEAD_PER_THREAD = 4;

/** Adds `reedtrace transcribe`. */
export function registerTranscribe(program: Command, { io, finish }: CommandContext): void {
  const command = program
    .command('transcribe')
    .summary('transcribe recordings to tab, and save a take of each')
    .description(
      'Transcribes recordings of one player (WAV, MP3, M4A, FLAC, Ogg, Opus, WebM, AIFF) to tab, and saves a take next to each recording.',
    )
    .argument(
      '<audio...>',
      'recordings, folders of recordings, patterns such as "lessons/*.wav", or - for standard input',
    );
  addMusicOptions(addHarpOptions(command))
    .option('--out <path>', 'where to save: a file for one take, a folder for several')
    .option('--no-save', 'do not save any takes')
    .option('--force', 'overwrite existing takes')
    .option('--shard <k/n>', 'process the k-th of n shares of the recordings, such as 3/16', parseShard)
    .option('--keep-all', 'keep sounds that would be left out, as doubtful notes, if the harp has the note')
    .option('--json', 'print the take instead of tab; saves nothing without --out')
    .addOption(styleOption('the tab'))
    .addHelpText(
      'after',
      examples([
        ['reedtrace transcribe take.wav --harp C', 'the tab of a take on a C harp; saves take.take.json'],
        [
          'reedtrace transcribe lessons/ --out takes/',
          'all recordings of a folder, the harp of each detected',
        ],
      ]),
    )
    .action(async (audio: string[], _own: Options, self: Command) => {
      const options = self.optsWithGlobals<Options>();
      const [{ readHarpOptions }, { readMusicOptions }] = await Promise.all([
        import('../options/harp.ts'),
        import('../options/music.ts'),
      ]);
      const harp = await readHarpOptions(options);
      if (options.words === '-' && audio.includes('-')) {
        throw new ReedtraceError(
          'E_USAGE',
          'standard input can be read only once',
          'name a file for one of them',
        );
      }
      const music = await readMusicOptions(options, io);
      const [
        { transcribeFiles },
        { HearPool },
        { readRecording },
        { transcribe, STAGES },
        { transcribeOnCores },
      ] = await Promise.all([
        import('./run.ts'),
        import('../hear/pool.ts'),
        import('../../audio/read.ts'),
        import('../../pipeline.ts'),
        import('../hear/on-cores.ts'),
      ]);
      const threads = Math.min(availableParallelism(), MOST_THREADS);
      const code = await transcribeFiles(
        audio,
        {
          harp,
          keepAll: options.keepAll ?? false,
          music,
          style: options.tabStyle,
          out: options.out,
          save: options.save,
          force: options.force ?? false,
          json: options.json ?? false,
          quiet: options.quiet ?? false,
          debug: options.debug ?? false,
          ...(options.shard && { shard: options.shard }),
        },
        io,
        {
          // Of several recordings, each has a thread of its own.
          engine: {
            readRecording,
            transcribe: audio.length > 1 ? transcribe : transcribeOnCores,
            stages: STAGES,
          },
          openPool: (recordings, named, signal) =>
            recordings > 1 && threads > 1 ? new HearPool(Math.min(threads, recordings), named, signal) : null,
          ahead: AHEAD_PER_THREAD * threads,
        },
      );
      finish(code);
    });
}
