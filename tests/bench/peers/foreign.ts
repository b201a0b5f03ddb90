/**
 * Tunes of ABC files as we read them, compared with abc2midi (Debian package abcmidi), whose MIDI midi-file parses: pitches in
 * order, and onsets, with repeats written out.
 *   npx tsx tests/bench/peers/foreign.ts FOLDER… [--most N] [--abc2midi PROGRAM] [--list]
 */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { parseMidi } from 'midi-file';
import { readAbc } from '../../../src/music/reading/abc/abc.ts';

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    most: { type: 'string', default: '200' },
    abc2midi: { type: 'string', default: 'abc2midi' },
    list: { type: 'boolean', default: false },
  },
});

/** Onsets nearer than this are one. */
const NEAR_BEATS = 0.03;
type Sound = readonly [midi: number, onsetBeats: number];
const dir = mkdtempSync(join(tmpdir(), 'reedtrace-foreign-'));

/** Highest notes of the first voice, as abc2midi has them. */
function theirs(abc: string): Sound[] {
  const source = join(dir, 'tune.abc');
  const target = join(dir, 'tune.mid');
  writeFileSync(source, abc);
  execFileSync(values.abc2midi, [source, '-o', target, '-NGRA', '-NFNP'], { stdio: 'ignore' });
  const midi = parseMidi(readFileSync(target));
  const perBeat = midi.header.ticksPerBeat ?? 480;
  const sounds = new Map<number, number>();
  for (const events of midi.tracks) {
    let tick = 0;
    for (const event of events) {
      tick += event.deltaTime;
      if (event.type !== 'noteOn' || event.velocity === 0) continue;
      sounds.set(tick, Math.max(sounds.get(tick) ?? 0, event.noteNumber));
    }
  }
  // abc2midi spreads the notes of a chord a little.
  const notes: Sound[] = [];
  for (const [tick, note] of [...sounds].sort(([a], [b]) => a - b)) {
    const last = notes[notes.length - 1];
    const onset = tick / perBeat;
    if (last === undefined || onset - last[1] >= NEAR_BEATS) notes.push([note, onset]);
    else notes[notes.length - 1] = [Math.max(note, last[0]), last[1]];
  }
  return notes;
}

const same = (a: Sound, b: Sound): boolean => a[0] === b[0] && Math.abs(a[1] - b[1]) < NEAR_BEATS;

/** Signs of one letter for trills, rolls, fermatas and the like before a note (ABC 2.1, 4.14): abc2midi plays them. */
const DECORATION = /[.~HLMOPSTuv]+(?=\(*[_=^]*[A-Ga-gxz])/g;

/** Without chord names, parts, grace notes and decorations. */
const plain = (tune: string): string =>
  tune
    .replaceAll(/"[^"]*"|\{[^}]*\}|![^!\n]*!/g, '')
    .replaceAll(/^[PR]:.*$/gm, '')
    .replaceAll(/\[P:[^\]]*\]/g, '')
    .split('\n')
    .map((line) => (/^[A-Za-z]:/.test(line) ? line : line.replaceAll(DECORATION, '')))
    .join('\n');

let tunes = 0;
let alike = 0;
let refused = 0;
let notes = 0;
let notesAlike = 0;
try {
  for (const folder of positionals) {
    for (const file of readdirSync(folder)
      .filter((name) => name.endsWith('.abc'))
      .sort()) {
      const text = readFileSync(join(folder, file), 'latin1').replaceAll('\r', '');
      const all = text.split(/\n(?=X:)/).filter((tune) => /^X:/.test(tune));
      const step = Math.max(1, Math.floor(all.length / 20));
      for (let i = 0; i < all.length && tunes < Number(values.most); i += step) {
        const abc = `${plain(all[i]).replaceAll(/\n{2,}/g, '\n')}\n`;
        tunes++;
        try {
          const ours = readAbc(new TextEncoder().encode(abc), file).notes;
          const other = theirs(abc);
          const offset = (other[0]?.[1] ?? 0) - ours[0].onsetBeats;
          const matching = ours.filter(
            (note, k) => other[k] !== undefined && same([note.midi, note.onsetBeats + offset], other[k]),
          ).length;
          notes += Math.max(ours.length, other.length);
          notesAlike += matching;
          if (matching === Math.max(ours.length, other.length)) alike++;
          else if (values.list)
            console.log(
              `${file} ${abc.slice(0, 40).replaceAll('\n', ' ')}: ${matching} of ${ours.length} and ${other.length}`,
            );
        } catch (error) {
          refused++;
          if (values.list)
            console.log(`${file} ${abc.slice(0, 30).replaceAll('\n', ' ')}: ${(error as Error).message}`);
        }
      }
    }
  }
} finally {
  rmSync(dir, { recursive: true, force: true });
}
console.log(
  `${tunes} tunes: ${alike} read as abc2midi does, ${refused} refused; ${notesAlike} of ${notes} notes alike`,
);
