import type { DescribedCommand, DescribedOption } from '../terminal/describe.ts';

/** Exit codes in words, as cli/README.md lists them. */
const EXIT_STATUS: readonly (readonly [code: number, means: string])[] = [
  [0, 'done'],
  [1, '`check` found the take below the pass mark you set'],
  [2, 'wrong usage'],
  [3, "the input can't be read or isn't what it says"],
  [4, 'no playing was found'],
  [5, 'could not write, or play'],
  [70, 'internal error; the message says where a report was saved'],
  [130, 'stopped, by Ctrl-C or by the system'],
];

const FILES: readonly (readonly [name: string, means: string])[] = [
  ['*.take.json', 'a take: the transcription of a recording, with your corrections'],
  ['*.take.json.journal', 'unsaved changes of the correction screen'],
  ['*.take.json.lock', 'says which program has the take open'],
];

const ENVIRONMENT: readonly (readonly [name: string, means: string])[] = [
  ['NO_COLOR', 'when set, nothing is coloured'],
  ['TMPDIR', 'where a recording from standard input is kept while it is read'],
];

/**
 * Text for troff (groff_man(7)): backslashes are escaped, hyphens become minus signs that can be copied, no line starts
 * a request, and other than ASCII characters are named by code point.
 */
function troff(text: string): string {
  return text
    .replaceAll('\\', '\\e')
    .replaceAll('-', '\\-')
    .replaceAll(/^([.'])/gm, '\\&$1')
    .replaceAll(
      /[^\0-\x7f]/gu,
      (sign) => `\\[u${sign.codePointAt(0)!.toString(16).toUpperCase().padStart(4, '0')}]`,
    );
}

const paragraph = (text: string) => `.PP\n${troff(text)}`;
const item = (name: string, text: string) => `.TP\n.B ${troff(name)}\n${troff(text)}`;
const optionItem = ({ flags, description, choices }: DescribedOption) =>
  item(flags, choices.length === 0 ? description : `${description}: ${choices.join(', ')}`);

function examplesOf({ examples }: DescribedCommand): string[] {
  return examples.flatMap(([line, does]) => [`.PP\n.nf\n${troff(line)}\n.fi\n.RS\n${troff(does)}\n.RE`]);
}

function section(command: DescribedCommand): string[] {
  const { name, usage, description, operands, options } = command;
  return [
    `.SS ${troff(`reedtrace ${name} ${usage}`)}`,
    troff(description),
    ...operands.map((operand) => item(operand.name, operand.description)),
    ...options.map(optionItem),
    ...examplesOf(command),
  ];
}

/** The manual page of the program, reedtrace(1), from the same descriptions as `--help`. */
export function manualPage(
  whole: DescribedCommand,
  commands: readonly DescribedCommand[],
  version: string,
): string {
  return `${[
    `.TH REEDTRACE 1 "" "reedtrace ${troff(version)}"`,
    '.SH NAME',
    `reedtrace \\- transcribe recordings of a ten\\-hole diatonic harmonica to tab`,
    '.SH SYNOPSIS',
    ...commands.map(({ name, usage }) => `.B reedtrace ${name}\n${troff(usage)}\n.br`),
    '.SH DESCRIPTION',
    troff(whole.description),
    paragraph(
      'Recordings are never changed, no network is used, and every file is written whole or not at all. Where practice can hurt: keep headphones at a moderate level, and rest if you feel dizzy; see a doctor if it lasts.',
    ),
    '.SH OPTIONS',
    ...whole.options.map(optionItem),
    '.SH COMMANDS',
    ...commands.flatMap(section),
    '.SH EXIT STATUS',
    ...EXIT_STATUS.map(([code, means]) => item(String(code), means)),
    '.SH FILES',
    ...FILES.map(([name, means]) => item(name, means)),
    '.SH ENVIRONMENT',
    ...ENVIRONMENT.map(([name, means]) => item(name, means)),
    '.SH EXAMPLES',
    ...examplesOf(whole),
  ].join('\n')}\n`;
}
