import { Command, CommanderError } from 'commander';
import { EXIT, type ExitCode, ReedtraceError } from '../errors.ts';
import { registerArrange } from './arrange/command.ts';
import { registerBends } from './bends/command.ts';
import { registerCheck } from './check/command.ts';
import { registerCompletion } from './completion/command.ts';
import { registerCorrect } from './correct/command.ts';
import { registerDoctor } from './doctor/command.ts';
import { registerExport } from './export/command.ts';
import { registerHarp } from './harp/command.ts';
import { registerLesson } from './lesson/command.ts';
import { registerMan } from './man/command.ts';
import { registerPlay } from './play/command.ts';
import { registerRecording } from './recording/command.ts';
import { examples, type RegisterCommand } from './terminal/command.ts';
import { reportFault } from './terminal/fault-report.ts';
import type { Io } from './terminal/io.ts';
import { columnsOf } from './terminal/io.ts';
import { errorLine, isInterruption } from './terminal/message.ts';
import { packageVersion } from './terminal/version.ts';
import { registerTranscribe } from './transcribe/command.ts';

/** The commands, in the order of `--help`. */
const COMMANDS: readonly RegisterCommand[] = [
  registerTranscribe,
  registerCorrect,
  registerExport,
  registerLesson,
  registerHarp,
  registerPlay,
  registerArrange,
  registerBends,
  registerCheck,
  registerRecording,
  registerDoctor,
  registerCompletion,
  registerMan,
];

export function buildProgram(io: Io, finish: (code: ExitCode) => void): Command {
  const program = new Command('reedtrace')
    .description('Transcribes recordings of a ten-hole diatonic harmonica to tab.')
    .version(packageVersion(), '-V, --version', 'print the version')
    .helpOption('-h, --help', 'show help')
    .option('-q, --quiet', 'print nothing but results and errors')
    .option('--debug', 'print a stack trace on an internal error')
    .exitOverride()
    .configureHelp({ showGlobalOptions: true })
    .configureOutput({
      writeOut: (text) => io.stdout.write(text),
      writeErr: (text) => io.stderr.write(text),
      getOutHelpWidth: () => columnsOf(io.stdout),
      getErrHelpWidth: () => columnsOf(io.stderr),
      getOutHasColors: () => false,
      getErrHasColors: () => false,
      // Usage errors are printed by `run`, in the same form as all others.
      outputError: () => {},
    })
    .addHelpText(
      'after',
      examples([
        ['reedtrace transcribe take.wav --harp C', 'prints the tab of a take on a C harp and saves it'],
        ['reedtrace transcribe --help', 'explains one command in full'],
      ]),
    );
  for (const register of COMMANDS) register(program, { io, finish });
  return program;
}

/** Turns a usage error of commander into a ReedtraceError; its suggestion comes on a line of its own. */
function usageError(error: CommanderError, program: Command, argv: readonly string[]): ReedtraceError {
  const [first, ...rest] = error.message.replace(/^error: /, '').split('\n');
  const suggestion = rest.join(' ').replace(/^\(Did you mean (.*)\?\)$/, 'did you mean $1? ');
  const names = program.commands.map((command) => command.name());
  const named = argv.find((argument) => names.includes(argument));
  const help = named === undefined ? 'reedtrace --help' : `reedtrace ${named} --help`;
  return new ReedtraceError('E_USAGE', first.replace(/\.$/, ''), `${suggestion}see \`${help}\``);
}

/**
 * Runs one command line.
 * @param argv  the arguments after the program's name
 * @returns the exit code (cli/README.md); never throws, never ends the process
 */
export async function run(argv: readonly string[], io: Io): Promise<ExitCode> {
  let code: ExitCode = EXIT.done;
  if (argv.length === 0) {
    // Only the name was typed: by someone new, or who has forgotten.
    const { greeting } = await import('./greeting.ts');
    io.stdout.write(await greeting('.'));
    return code;
  }
  const program = buildProgram(io, (told) => {
    code = told;
  });
  try {
    await program.parseAsync(argv, { from: 'user' });
    return code;
  } catch (error) {
    if (error instanceof CommanderError) {
      if (error.exitCode === 0) return EXIT.done;
      // Help was shown because no command was given; that is the message.
      if (error.code === 'commander.help') return EXIT.usage;
      io.stderr.write(errorLine(usageError(error, program, argv)));
      return EXIT.usage;
    }
    if (isInterruption(error)) {
      io.stderr.write('error: stopped by Ctrl-C; nothing was left half-written\n');
      return EXIT.interrupted;
    }
    if (error instanceof ReedtraceError) {
      io.stderr.write(errorLine(error));
      return error.exitCode;
    }
    return reportFault(io, error, argv, argv.includes('--debug'));
  }
}
