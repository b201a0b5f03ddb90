import { readFileSync } from 'node:fs';
import { basename } from 'node:path';
import { parseArgs } from 'node:util';
import { bandPass } from '../../../samples/synth/scene/degrade.ts';
import { decodeWithFfmpeg } from '../sets/external.ts';
import { HOP_SEC, levelDb, magnitude, WINDOW_SEC } from './playing-traits.ts';
import type { RealEvent, RealLabel } from './real-labels.ts';

/*
 * Makes a label of a recording from what somebody saw on its spectrogram, without the product:
 * npx tsx tests/bench/real/label.ts RECORDING EVENTS --source 'OWNER/REPOSITORY @COMMIT PATH' --licence L --player P
 *   --use develop|report [--key C] [--key-sure] [--played TEXT] > tests/real/NAME.json
 * EVENTS is a text with a line for each event: onset and offset to some 50 ms, the reeds by name, the melody note first,
 * and what else is to be said:
 *   0.34 0.79 A4
 *   1.92 2.46 B4+D5 maybe E4 tol 0.08
 *   3.30 4.55 G4 unsure
 *   2.15 2.40 A4 here        (the onset stays as it is)
 */

const RATE = 22050;
const PITCH_CLASS: Readonly<Record<string, number>> = { C: 0, D: 2, E: 4, F: 5, G: 7, A: 9, B: 11 };

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    source: { type: 'string', default: '' },
    licence: { type: 'string', default: 'none stated' },
    player: { type: 'string', default: '' },
    use: { type: 'string', default: 'develop' },
    key: { type: 'string' },
    'key-sure': { type: 'boolean', default: false },
    played: { type: 'string', default: '' },
  },
});
const [recording, listed] = positionals;
if (!recording || !listed || !values.source || !['develop', 'report'].includes(values.use)) {
  console.error(
    "usage: label.ts RECORDING EVENTS --source '…' --use develop|report (see the head of this file)",
  );
  process.exitCode = 2;
} else {
  const sound = decodeWithFfmpeg(recording, RATE);
  const level = levelDb(bandPass(sound, RATE, [500, 3500]), RATE);
  const notes: RealEvent[] = [];
  for (const line of readFileSync(listed, 'utf8').split('\n')) {
    if (/^\s*(#|$)/.test(line)) continue;
    const event = measured(line, notes.at(-1), sound, level);
    const last = notes.at(-1);
    if (last && last.offsetSec > event.onsetSec)
      notes[notes.length - 1] = { ...last, offsetSec: event.onsetSec };
    notes.push(event);
  }
  const label: RealLabel & { readonly played: string; readonly labelledBy: string } = {
    audio: basename(recording),
    source: values.source,
    licence: values.licence,
    harpKey: values.key ?? null,
    harpSure: values['key-sure'],
    played: values.played,
    labelledBy: 'by eye on the spectrogram; onsets and pitches by tests/bench/real/label.ts',
    player: values.player || values.source.split(' ')[0],
    use: values.use as RealLabel['use'],
    notes,
  };
  console.log(JSON.stringify(label, null, 1));
}

function measured(
  line: string,
  before: RealEvent | undefined,
  sound: Float32Array,
  level: Float64Array,
): RealEvent {
  const [onset, offset, names, ...rest] = line.trim().split(/\s+/);
  const midis = names.split('+').map(midiOf);
  const after = (word: string): string | undefined =>
    rest.includes(word) ? rest[rest.indexOf(word) + 1] : undefined;
  const [seenSec, offsetSec] = [Number(onset), Number(offset)];
  const f0Hz = pitchOf(sound, seenSec, offsetSec, midis[0]);
  const fresh = midis.filter((midi) => before === undefined || !before.sounding.includes(midi));
  const found = rest.includes('here')
    ? seenSec
    : onsetOf(
        sound,
        level,
        seenSec,
        fresh.length > 0 ? fresh.map((midi) => hz(f0Hz, midi - midis[0])) : [f0Hz],
      );
  return {
    onsetSec: rounded(Math.abs(found - seenSec) > 0.07 ? seenSec : found, 3),
    offsetSec: rounded(offsetSec, 3),
    f0Hz: rounded(f0Hz, 2),
    nominalMidi: midis[0],
    sounding: [...midis].sort((a, b) => a - b),
    kind: midis.length === 1 ? 'single' : rest.includes('shake') ? 'shake' : 'together',
    sure: !rest.includes('unsure'),
    ...(after('maybe') ? { maybe: after('maybe')!.split('+').map(midiOf) } : {}),
    ...(after('tol') ? { onsetTolSec: Number(after('tol')) } : {}),
  };
}

/** MIDI number of a name such as `A4`, `Bb3`, `F#5`. @throws Error on another name */
function midiOf(name: string): number {
  const [, letter, sign, octave] = /^([A-G])([b#]?)(\d)$/.exec(name) ?? [];
  if (!letter) throw new Error(`'${name}' is no note name such as A4, Bb3 or F#5`);
  return PITCH_CLASS[letter] + (sign === '#' ? 1 : sign === 'b' ? -1 : 0) + 12 * (Number(octave) + 1);
}

function hz(f0Hz: number, semitones: number): number {
  return f0Hz * 2 ** (semitones / 12);
}

function rounded(value: number, digits: number): number {
  return Number(value.toFixed(digits));
}

/** The strongest comb of six partials within 75 cents, over the held part. */
function pitchOf(sound: Float32Array, onsetSec: number, offsetSec: number, midi: number): number {
  const long = offsetSec - onsetSec > 0.25;
  const from = long ? onsetSec + 0.06 : onsetSec + 0.25 * (offsetSec - onsetSec);
  const to = long ? Math.min(offsetSec - 0.05, onsetSec + 0.6) : offsetSec - 0.15 * (offsetSec - onsetSec);
  const comb = (cents: number): number => {
    let sum = 0;
    for (let k = 1; k <= 6; k++)
      sum += Math.log(magnitude(sound, RATE, from, to, k * hz(440, midi - 69 + cents / 100)) + 1e-5);
    return sum;
  };
  const best = (all: readonly number[]): number => all.reduce((a, b) => (comb(b) > comb(a) ? b : a));
  const near = best(Array.from({ length: 31 }, (_, i) => 5 * i - 75));
  return hz(440, midi - 69 + best(Array.from({ length: 9 }, (_, i) => near + i - 4)) / 100);
}

/** Where the band level comes within 15 dB of the early level; of a slurred note where its own partials come within 6 dB. */
function onsetOf(
  sound: Float32Array,
  level: Float64Array,
  seenSec: number,
  ownHz: readonly number[],
): number {
  const at = (sec: number): number => Math.max(0, Math.round((sec - WINDOW_SEC / 2) / HOP_SEC));
  const early = level.subarray(at(seenSec), at(seenSec + 0.08));
  const peak = Math.max(...early);
  if (peak - Math.min(...level.subarray(at(seenSec - 0.12), at(seenSec + 0.08))) >= 15) {
    let i = at(seenSec) + early.indexOf(peak);
    while (i > 0 && level[i] > peak - 15) i--;
    return i * HOP_SEC + WINDOW_SEC / 2;
  }
  const own = Array.from({ length: 100 }, (_, i) => {
    const sec = seenSec - 0.12 + i * HOP_SEC;
    let power = 1e-12;
    for (const f0Hz of ownHz)
      for (let k = 1; k <= 6; k++) power += magnitude(sound, RATE, sec - 0.023, sec + 0.023, k * f0Hz) ** 2;
    return 10 * Math.log10(power);
  });
  const top = Math.max(...own.slice(60));
  let i = own.lastIndexOf(top);
  while (i > 0 && own[i] > top - 6) i--;
  return i === 0 ? seenSec : seenSec - 0.12 + i * HOP_SEC;
}
