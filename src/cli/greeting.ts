import { readdir } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { oneLine } from './terminal/message.ts';

/** A sample recording that comes with the program. */
const SAMPLE = fileURLToPath(new URL('../../samples/old-joe-clark.wav', import.meta.url));
const RECORDING = /\.(?:wav|mp3|m4a|flac|ogg|opus|webm|aiff?|caf|aac)$/i;
const TAKE = /\.take\.json$/;

/** A name as it is typed: in quotes if a shell would split it. */
function typed(name: string): string {
  const shown = oneLine(name.startsWith('-') ? `./${name}` : name);
  return /^[\w.,+@%/-]+$/.test(shown) ? shown : `'${shown.replaceAll("'", `'\\''`)}'`;
}

/** Shown when only the name of the program is typed: what to do next, with the files of this folder. */
export async function greeting(folder: string): Promise<string> {
  const names = (await readdir(folder).catch(() => [])).filter((name) => !name.startsWith('.')).sort();
  const found = names.find((name) => RECORDING.test(name));
  const recording = typed(found ?? 'take.wav');
  const take = typed(
    names.find((name) => TAKE.test(name)) ?? `${(found ?? 'take').replace(RECORDING, '')}.take.json`,
  );
  const rows: readonly (readonly [line: string, does: string])[] = [
    [`reedtrace transcribe ${recording} --harp C`, 'prints its tab and saves a take next to it'],
    [`reedtrace correct ${take}`, 'corrects what was misheard'],
    [`reedtrace play ${take} --phrase 1`, 'plays it to practise with, by phrase, as slowly as you like'],
    [`reedtrace export ${take} --as html`, 'a page to send; also PDF, notation, MIDI and more'],
    [`reedtrace check ${recording} --against ${take}`, 'what went well in a lesson, and what to work on'],
  ];
  return `Reedtrace transcribes recordings of a ten-hole diatonic harmonica to tab.

Record one player, or use a recording that you have, then:
${rows.map(([line, does]) => `\n  ${line}\n      ${does}`).join('')}

Leave out --harp, and the harp is detected from the notes.${
    found === undefined
      ? `\nNo recording at hand? Try this one:\n\n  reedtrace transcribe ${typed(SAMPLE)} --harp D --no-save\n`
      : '\n'
  }
\`reedtrace doctor\` checks your set-up, \`reedtrace --help\` lists all commands.
`;
}
