import type { Command, Option } from 'commander';

/** One option as `--help` lists it. */
export interface DescribedOption {
  /** As help writes them, such as `-q, --quiet` or `--harp <key>`. */
  readonly flags: string;
  /** Each way to give it, such as `-q` and `--quiet`. */
  readonly names: readonly string[];
  readonly takesValue: boolean;
  readonly choices: readonly string[];
  readonly description: string;
}

/** A command as `--help` describes it. */
export interface DescribedCommand {
  readonly name: string;
  readonly summary: string;
  readonly description: string;
  /** What follows its name, such as `[options] <audio...>`. */
  readonly usage: string;
  readonly operands: readonly { readonly name: string; readonly description: string }[];
  readonly options: readonly DescribedOption[];
  readonly examples: readonly (readonly [command: string, does: string])[];
}

/** Describes the program and its commands, for other forms of help. */
export function describeProgram(program: Command): {
  readonly whole: DescribedCommand;
  readonly commands: readonly DescribedCommand[];
} {
  const visible = program.createHelp().visibleCommands(program);
  return {
    whole: describe(program),
    commands: visible.filter((command) => command.name() !== 'help').map(describe),
  };
}

function describe(command: Command): DescribedCommand {
  const help = command.createHelp();
  return {
    name: command.name(),
    summary: command.summary() || command.description(),
    description: command.description(),
    usage: command.usage(),
    operands: help.visibleArguments(command).map((operand) => ({
      name: help.argumentTerm(operand),
      description: operand.description,
    })),
    options: help.visibleOptions(command).map(describeOption),
    examples: examplesOf(command),
  };
}

function describeOption(option: Option): DescribedOption {
  return {
    flags: option.flags,
    names: [option.short, option.long].filter((name) => name !== undefined),
    takesValue: option.required || option.optional,
    choices: option.argChoices ?? [],
    description: option.description,
  };
}

/** The examples at the end of the help; commander keeps such text only to print it. */
function examplesOf(command: Command): (readonly [string, string])[] {
  let text = '';
  const { writeOut, ...rest } = command.configureOutput();
  command.configureOutput({
    ...rest,
    writeOut: (part) => {
      text += part;
    },
  });
  command.outputHelp();
  command.configureOutput({ ...rest, ...(writeOut && { writeOut }) });
  const listed = text.split('\nExamples:\n')[1] ?? '';
  return [...listed.matchAll(/^ {2}\$ (.+)\n {6}(.+)$/gm)].map(([, line, does]) => [line, does] as const);
}
