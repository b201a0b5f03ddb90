import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { type Rng, seededRng } from '../../../samples/synth/rng.ts';
import { readAbc } from '../../../src/music/reading/abc/abc.ts';
import { TICKS_PER_BEAT } from '../../../src/music/rhythm/metre.ts';

/** A tune with its score, and the times at which a made-up player plays it. */
export interface ScoreTake {
  readonly name: string;
  readonly metre: { readonly count: number; readonly unit: number };
  readonly pickupTicks: number;
  readonly tempoBpm: number;
  /** Written lengths in beats; a rest after a note is no part of it. */
  readonly values: readonly number[];
  /** Ticks of each note from the bar line at or before it. */
  readonly inBarTicks: readonly number[];
  /** First notes of the lines of the score. */
  readonly lineStarts: readonly number[];
  readonly notes: readonly { readonly onsetSec: number; readonly offsetSec: number; readonly midi: number }[];
}

const METRES = ['2/4', '3/4', '4/4', '6/8'];
const FEWEST_NOTES = 16;

/**
 * Every tune of a folder of ABC files that keeps one of the common metres from its first bar to its last, one in `every`
 * of them from `first` on, played with a pause for breath after each line and the looseness of a student.
 */
export function scoreTakes(
  folder: string,
  every: number,
  first: number,
  rubato = false,
  anyTempo = false,
): ScoreTake[] {
  const takes: ScoreTake[] = [];
  let seen = 0;
  for (const file of readdirSync(folder)
    .filter((name) => name.endsWith('.abc'))
    .sort()) {
    const text = readFileSync(join(folder, file), 'latin1').replaceAll('\r', '');
    for (const tune of text.split(/\n(?=X:)/)) {
      if (seen++ % every !== first) continue;
      const take = scoreTake(`${file} ${/^X:\s*(\d+)/m.exec(tune)?.[1] ?? ''}`, tune, seen, {
        rubato,
        anyTempo,
      });
      if (take !== null) takes.push(take);
    }
  }
  return takes;
}

/** Pulses a minute of made-up players, and of those who play at any tempo, in simple and in compound time. */
const PULSES = { usual: [66, 120], any: [66, 144], anyCompound: [46, 112] } as const;
/** So many of free players leave gaps of up to so long between their notes. */
const DETACHED = { share: 0.3, mostSec: 0.18 };

function scoreTake(
  name: string,
  tune: string,
  seed: number,
  { rubato, anyTempo }: { rubato: boolean; anyTempo: boolean },
): ScoreTake | null {
  const start = tune.indexOf('\n', tune.search(/^K:/m)) + 1;
  const head = tune.slice(0, start);
  const body = tune
    .slice(start)
    .replace(/^[A-Za-z%]:?.*$/gm, (line) => (/^[A-Za-z]:|^%/.test(line) ? '' : line));
  const metres = [...tune.matchAll(/^M:\s*(.*)$/gm)].map(([, sign]) =>
    /^C\|?$/.test(sign.trim()) ? '4/4' : sign.trim(),
  );
  if (start === 0 || metres.length !== 1 || !METRES.includes(metres[0]) || /\[M:|\]\s*\[K:/.test(body))
    return null;
  const [metreCount, metreUnit] = metres[0].split('/').map(Number);
  const barBeats = (4 * metreCount) / metreUnit;
  const read = (text: string) => {
    try {
      return readAbc(new TextEncoder().encode(head + text), name);
    } catch {
      return null;
    }
  };
  const melody = read(body.replace(/\n+/g, '\n'));
  if (melody === null || melody.notes.length < FEWEST_NOTES || melody.notes.length > 400) return null;
  // Where a bar line is, by a rest put before it as a note that cannot be in the tune.
  const barsAt: number[] = [];
  for (const match of body.matchAll(/\|/g)) {
    const before = read(`${body.slice(0, match.index).replace(/\n+/g, '\n')} z C,,,`);
    if (before === null) continue;
    const unit = before.notes[before.notes.length - 1];
    if (unit.midi < 30) barsAt.push(unit.onsetBeats - restUnit(head, barBeats));
    if (barsAt.length > 1 && barsAt.length > 40) break;
  }
  if (barsAt.length < 4) return null;
  const pickup = barsAt[0] < barBeats - 1e-6 ? barsAt[0] : 0;
  if (barsAt.some((at) => Math.abs((at - pickup) / barBeats - Math.round((at - pickup) / barBeats)) > 1e-6))
    return null;
  const rng = seededRng(seed).fork('player');
  const compound = metres[0] === '6/8';
  const pulseBpm = rng.between(anyTempo ? (compound ? PULSES.anyCompound : PULSES.any) : PULSES.usual);
  const tempoBpm = compound ? pulseBpm * 1.5 : pulseBpm;
  const beatSec = 60 / tempoBpm;
  const looseSec = rng.between([0.008, 0.02]);
  const notes: { onsetSec: number; offsetSec: number; midi: number }[] = [];
  const clock = rubato ? wanderingClock(rng.fork('rubato')) : (sec: number) => sec;
  const detached = rng.fork('detached');
  const gapSec =
    rubato && detached.chance(DETACHED.share) ? detached.between([0.04, DETACHED.mostSec]) : 0.04;
  let pauses = 0;
  for (const [i, note] of melody.notes.entries()) {
    const line = i > 0 && melody.lineStarts.includes(i);
    if (line) pauses += rng.between([0.12, 0.6]);
    const next = melody.notes[i + 1];
    const rests = next !== undefined && next.onsetBeats > note.onsetBeats + note.durationBeats + 1e-6;
    const lengthSec = note.durationBeats * beatSec;
    const onsetSec = Math.max(
      0.4 +
        pauses +
        note.onsetBeats * beatSec +
        Math.max(-0.4, Math.min(0.4, (rng.normal() * looseSec) / lengthSec)) * lengthSec,
      (notes[i - 1]?.onsetSec ?? 0) + 0.06,
    );
    const inLine = rubato && note.durationBeats >= 1 && rng.chance(IN_LINE_BREATHS);
    const breath = next === undefined || rests || inLine || melody.lineStarts.includes(i + 1);
    const offsetSec = onsetSec + Math.max(0.05, lengthSec * (breath ? rng.between([0.7, 0.95]) : 1));
    if (i > 0) notes[i - 1].offsetSec = Math.min(notes[i - 1].offsetSec, onsetSec - rng.between([0, gapSec]));
    notes.push({ onsetSec, offsetSec, midi: note.midi });
    if (inLine && rng.chance(0.5)) pauses += rng.between([0.1, 0.3]);
  }
  for (const note of notes) {
    note.onsetSec = clock(note.onsetSec);
    note.offsetSec = clock(note.offsetSec);
  }
  return {
    name,
    metre: { count: metreCount, unit: metreUnit },
    pickupTicks: Math.round(pickup * TICKS_PER_BEAT),
    tempoBpm,
    values: melody.notes.map(({ durationBeats }) => durationBeats),
    inBarTicks: melody.notes.map(({ onsetBeats }) => {
      const ticks = Math.round((onsetBeats - pickup + barBeats) * TICKS_PER_BEAT);
      return ticks % (barBeats * TICKS_PER_BEAT);
    }),
    lineStarts: melody.lineStarts,
    notes,
  };
}

/** After so many notes of a beat and more inside a line a free player breathes. */
const IN_LINE_BREATHS = 0.12;
/** Spread of the natural log of the tempo, and within how many seconds it wanders. */
const RUBATO_SPREAD = 0.05;
const RUBATO_SEC = 3;

/** A clock whose rate wanders; times must not go back by more than a second. */
function wanderingClock(rng: Rng): (sec: number) => number {
  const step = 0.05;
  const at: number[] = [0];
  let wander = RUBATO_SPREAD * rng.normal();
  const kept = Math.exp(-step / RUBATO_SEC);
  return (sec) => {
    while (at.length * step <= sec + step) {
      wander = kept * wander + RUBATO_SPREAD * Math.sqrt(1 - kept * kept) * rng.normal();
      at.push(at[at.length - 1] + step * Math.exp(wander));
    }
    const before = Math.floor(sec / step);
    return at[before] + (sec / step - before) * (at[before + 1] - at[before]);
  };
}

/** Length in beats of a bare `z`. */
function restUnit(head: string, barBeats: number): number {
  const unit = /^L:\s*(\d+)\/(\d+)/m.exec(head);
  return unit ? (4 * Number(unit[1])) / Number(unit[2]) : barBeats < 3 ? 0.25 : 0.5;
}
