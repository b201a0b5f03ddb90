import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { manualPage } from '../../../src/cli/man/page.ts';
import { buildProgram, run } from '../../../src/cli/run.ts';
import { describeProgram } from '../../../src/cli/terminal/describe.ts';
import { captureIo } from '../captured-io.ts';

let dir: string;
beforeAll(async () => {
  dir = mkdtempSync(join(tmpdir(), 'reedtrace-completion-'));
  for (const shell of ['bash', 'zsh', 'fish']) {
    const { io, texts } = captureIo();
    expect(await run(['completion', shell], io)).toBe(0);
    writeFileSync(join(dir, `script.${shell}`), texts.stdout);
  }
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

const has = (shell: string) => spawnSync(shell, ['-c', 'true']).status === 0;

/** What the shell offers for a partly typed line. */
function offered(shell: string, line: string): string[] {
  const words = line.split(' ');
  const scripts: Readonly<Record<string, string>> = {
    bash: `source script.bash; COMP_WORDS=(${words.map((word) => `'${word}'`).join(' ')}); COMP_CWORD=${words.length - 1}; _reedtrace; printf '%s\\n' "\${COMPREPLY[@]}"`,
    fish: `source script.fish; complete -C '${line}' | string replace -r '\\t.*' ''`,
  };
  const done = spawnSync(shell, ['-c', scripts[shell]], {
    cwd: dir,
    encoding: 'utf8',
    env: { ...process.env, HOME: dir },
  });
  expect(done.stderr).toBe('');
  return done.stdout.split('\n').filter((word) => word !== '');
}

describe.each(['bash', 'fish'].filter(has))('%s completes', (shell) => {
  it.each([
    ['reedtrace tr', ['transcribe']],
    ['reedtrace transcribe --ha', ['--harp']],
    ['reedtrace export x --tab-style ', ['signs', 'letters', 'arrows']],
    ['reedtrace play x --sound t', ['tab']],
  ])('%s', (line, words) => {
    expect(offered(shell, line).sort()).toEqual([...words].sort());
  });
});

describe.skipIf(!has('zsh'))('zsh', () => {
  it('loads the script and offers the commands', () => {
    // Its completion functions are replaced by ones that print their arguments.
    const script = `
      compdef() { : }
      _describe() { print -l -- \${(P)2} }
      _arguments() { print -l -- "$@" }
      source script.zsh
      words=(reedtrace ''); CURRENT=2; _reedtrace
      words=(reedtrace export ''); CURRENT=3; _reedtrace`;
    const done = spawnSync('zsh', ['-f', '-c', script], { cwd: dir, encoding: 'utf8' });
    expect(done.stderr).toBe('');
    expect(done.stdout).toMatch(/^transcribe:transcribe recordings to tab/m);
    expect(done.stdout).toMatch(/^--tab-style\[.*\]:value:\(signs letters arrows\)$/m);
  });
});

describe('every option of every command', () => {
  const { whole, commands } = describeProgram(buildProgram(captureIo().io, () => {}));

  it.each(['bash', 'zsh', 'fish'])('is in the completion of %s', (shell) => {
    const script = readFileSync(join(dir, `script.${shell}`), 'utf8');
    for (const { name, options } of commands) {
      // The lines that are of this command: one in bash and zsh, one for each option in fish.
      const lines = script
        .split('\n')
        .filter((line) =>
          shell === 'fish'
            ? line.includes(`__fish_seen_subcommand_from ${name}'`)
            : line.trimStart().startsWith(`${name}) `),
        )
        .join('\n');
      for (const flag of options.flatMap(({ names }) => names)) {
        const written =
          shell !== 'fish' ? flag : flag.startsWith('--') ? ` -l ${flag.slice(2)} ` : ` -s ${flag.slice(1)} `;
        expect(lines, `${flag} of ${name} in ${shell}`).toContain(written);
      }
    }
  });

  it('is in the section of its command in the manual page', () => {
    const page = manualPage(whole, commands, '1').replaceAll('\\-', '-');
    const sections = page.split('\n.SS reedtrace ').slice(1);
    expect(sections).toHaveLength(commands.length);
    for (const { name, options } of commands) {
      const section = sections.find((text) => text.startsWith(`${name} `) || text.startsWith(`${name}\n`));
      for (const { flags } of options) expect(section, `${flags} of ${name}`).toContain(`.B ${flags}\n`);
    }
  });
});

describe('the manual page', () => {
  it('has every command and option that help lists', async () => {
    const page = captureIo();
    expect(await run(['man'], page.io)).toBe(0);
    const text = page.texts.stdout.replaceAll('\\-', '-');
    for (const [command] of text.matchAll(/(?<=^\.SS reedtrace )\w+/gm)) {
      const help = captureIo();
      expect(await run([command, '--help'], help.io)).toBe(0);
      for (const [flag] of help.texts.stdout.matchAll(/(?<=^ {2}(?:-\w, )?)--[\w-]+/gm)) {
        expect(text, `${flag} of ${command}`).toContain(flag);
      }
    }
    expect(text.match(/^\.SS /gm)?.length).toBeGreaterThanOrEqual(10);
  });

  it.skipIf(spawnSync('groff', ['--version']).status !== 0)(
    'is read by groff without a warning',
    async () => {
      const { io, texts } = captureIo();
      await run(['man'], io);
      const done = spawnSync('groff', ['-man', '-Tutf8', '-ww', '-z'], {
        input: texts.stdout,
        encoding: 'utf8',
      });
      expect(done.stderr).toBe('');
    },
  );
});

describe('doctor', () => {
  it('finds everything that the tests need, and says what to do if something is missing', async () => {
    const { io, texts } = captureIo({ env: { PATH: dir } });
    expect(await run(['doctor'], io)).toBe(0);
    expect(texts.stdout).toMatch(/^ok {7}listening /m);
    expect(texts.stdout).toMatch(/^missing {2}sound +no sound player was found\n +do: install /m);
    expect(texts.stdout).toMatch(/\n1 of 8 is missing\.\n$/);
    const json = captureIo({ env: {} });
    expect(await run(['doctor', '--json'], json.io)).toBe(0);
    expect(JSON.parse(json.texts.stdout)).toMatchObject({ format: 'reedtrace-doctor', version: 1 });
  });

  it('says that a narrow terminal is too narrow', async () => {
    const { io, texts } = captureIo({ env: { TERM: 'xterm' }, tty: 40 });
    await run(['doctor'], io);
    expect(texts.stdout).toMatch(/^missing {2}terminal +40 columns/m);
  });
});
