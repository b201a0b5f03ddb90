import type { DescribedCommand, DescribedOption } from '../terminal/describe.ts';

/** Shells with completion. */
export const SHELLS = ['bash', 'zsh', 'fish'] as const;
export type Shell = (typeof SHELLS)[number];

/** How to install the script, for each shell. */
export const HOW_TO: Readonly<Record<Shell, string>> = {
  bash: 'in ~/.bashrc: eval "$(reedtrace completion bash)"',
  zsh: 'in ~/.zshrc, after compinit: eval "$(reedtrace completion zsh)"',
  fish: 'reedtrace completion fish > ~/.config/fish/completions/reedtrace.fish',
};

/** The script that completes commands, options and their values; everything else is completed as a file name. */
export function completionScript(shell: Shell, commands: readonly DescribedCommand[]): string {
  return `# Completion of reedtrace for ${shell}; ${HOW_TO[shell]}\n${WRITERS[shell](commands)}`;
}

const WRITERS: Readonly<Record<Shell, (commands: readonly DescribedCommand[]) => string>> = {
  bash: bashScript,
  zsh: zshScript,
  fish: fishScript,
};

/** A text in single quotes, for all three shells. */
const quoted = (text: string): string => `'${text.replaceAll('\\', '\\\\').replaceAll("'", `'"'"'`)}'`;

function bashScript(commands: readonly DescribedCommand[]): string {
  const names = commands.map(({ name }) => name);
  const values = commands.flatMap(({ name, options }) =>
    options
      .filter(({ choices }) => choices.length > 0)
      .map(
        (option) =>
          `    ${option.names.map((each) => `${name}:${each}`).join('|')}) words=${quoted(option.choices.join(' '))} ;;`,
      ),
  );
  const options = commands.map(
    ({ name, options }) =>
      `      ${name}) words=${quoted(options.flatMap(({ names }) => names).join(' '))} ;;`,
  );
  return `_reedtrace() {
  local cur=\${COMP_WORDS[COMP_CWORD]} prev=\${COMP_WORDS[COMP_CWORD-1]} command='' words='' i
  for ((i = 1; i < COMP_CWORD; i++)); do
    case \${COMP_WORDS[i]} in
      ${names.join('|')}) command=\${COMP_WORDS[i]}; break ;;
    esac
  done
  case $command:$prev in
${values.join('\n')}
  esac
  if [[ -z $words && $cur == -* ]]; then
    case $command in
${options.join('\n')}
      *) words='--help --version' ;;
    esac
  elif [[ -z $words && -z $command ]]; then
    words=${quoted(names.join(' '))}
  fi
  COMPREPLY=($(compgen -W "$words" -- "$cur"))
}
complete -o default -F _reedtrace reedtrace
`;
}

function zshScript(commands: readonly DescribedCommand[]): string {
  /** Escapes text in the brackets of an \`_arguments\` specification. */
  const said = (text: string) => text.replaceAll(/[[\]:\\]/g, (sign) => `\\${sign}`);
  const spec = ({ names, takesValue, choices, description }: DescribedOption) => {
    const value = takesValue ? (choices.length > 0 ? `:value:(${choices.join(' ')})` : ':value:_files') : '';
    return names.map((name) => quoted(`${name}[${said(description)}]${value}`)).join(' ');
  };
  const listed = commands.map(({ name, summary }) => `      ${quoted(`${name}:${said(summary)}`)}`);
  const cases = commands.map(
    ({ name, options }) => `    ${name}) _arguments ${options.map(spec).join(' ')} '*:file:_files' ;;`,
  );
  return `_reedtrace() {
  if (( CURRENT == 2 )); then
    local -a commands=(
${listed.join('\n')}
    )
    _describe command commands
    return
  fi
  local command=$words[2]
  shift words
  (( CURRENT-- ))
  case $command in
${cases.join('\n')}
  esac
}
compdef _reedtrace reedtrace
`;
}

function fishScript(commands: readonly DescribedCommand[]): string {
  const lines = commands.flatMap(({ name, summary, options }) => [
    `complete -c reedtrace -n __fish_use_subcommand -f -a ${name} -d ${quoted(summary)}`,
    ...options.map((option) => {
      const flags = option.names.map((flag) =>
        flag.startsWith('--') ? `-l ${flag.slice(2)}` : `-s ${flag.slice(1)}`,
      );
      const value =
        option.choices.length > 0
          ? ` -x -a ${quoted(option.choices.join(' '))}`
          : option.takesValue
            ? ' -r'
            : '';
      return `complete -c reedtrace -n '__fish_seen_subcommand_from ${name}' ${flags.join(' ')}${value} -d ${quoted(option.description)}`;
    }),
  ]);
  return `${lines.join('\n')}\n`;
}
