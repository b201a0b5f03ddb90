import { type Command, InvalidArgumentError, Option } from 'commander';
import { type CommandContext, examples } from '../terminal/command.ts';
import type { PhraseRange, PlayOptions } from './options.ts';

/** Below this speed notes break up; above this nobody practises. */
const SPEED_RANGE = [0.25, 2] as const;
const MOST_CLICKS = 16;

function parseSpeed(text: string): number {
  const match = /^(\d*\.?\d+)(%?)$/.exec(text.trim());
  const speed = match === null ? Number.NaN : Number(match[1]) / (match[2] === '%' ? 100 : 1);
  if (speed >= SPEED_RANGE[0] && speed <= SPEED_RANGE[1]) return speed;
  throw new InvalidArgumentError(`Give ${SPEED_RANGE[0]} to ${SPEED_RANGE[1]}, or 25% to 200%.`);
}

function parsePhrases(text: string): PhraseRange {
  const match = /^(\d+)(?:-(\d+))?$/.exec(text.trim());
  const first = Number(match?.[1]);
  const last = Number(match?.[2] ?? match?.[1]);
  if (first >= 1 && last >= first) return { first, last };
  throw new InvalidArgumentError('Give the number of a phrase, such as 2, or of several, such as 2-4.');
}

function parseClicks(text: string): number {
  const clicks = Number(text);
  if (Number.isInteger(clicks) && clicks >= 1 && clicks <= MOST_CLICKS) return clicks;
  throw new InvalidArgumentError(`Give a number of clicks, 1 to ${MOST_CLICKS}.`);
}

/** Adds `reedtrace play`. */
export function registerPlay(program: Command, { io }: CommandContext): void {
  program
    .command('play')
    .summary('play a take: its recording or its tab, by phrase, slower')
    .description(
      'Plays the recording of a take, its tab as sound, or both; whole or by phrase, slower or faster at the same pitch. On headphones keep the level moderate and take breaks.',
    )
    .argument('<take>', 'a take (.take.json)')
    .addOption(
      new Option('--sound <what>', 'what to play').choices(['recording', 'tab', 'both']).default('recording'),
    )
    .option(
      '--phrase <number>',
      'one phrase, such as 2, or several, such as 2-4; all if omitted',
      parsePhrases,
    )
    .option('--speed <factor>', 'speed at the same pitch: 0.25 to 2, or 25% to 200%', parseSpeed, 1)
    .option(
      '--count-in [clicks]',
      'clicks before each passage; a bar of them if no number is given',
      parseClicks,
    )
    .option(
      '--answer',
      'play phrase by phrase, each followed by a silence of the same length for your answer',
    )
    .addOption(new Option('--loop', 'repeat until Ctrl-C').conflicts('out'))
    .option('--recording <file>', 'the recording, if it is not next to the take')
    .option('--out <file>', 'write a WAV file instead of playing')
    .option('--force', 'overwrite an existing file')
    .addHelpText(
      'after',
      examples([
        [
          'reedtrace play take.take.json --phrase 2 --speed 50% --count-in --loop',
          'the second phrase at half speed, a bar counted in, until Ctrl-C',
        ],
        ['reedtrace play take.take.json --sound tab --out tab.wav', 'the tab as sound, as a WAV file'],
      ]),
    )
    .action(async (take: string, _own: PlayOptions, self: Command) => {
      const { runPlay } = await import('./run.ts');
      await runPlay(take, self.optsWithGlobals<PlayOptions>(), io);
    });
}
