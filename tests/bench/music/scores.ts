import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { readAbc } from '../../../src/music/reading/abc/abc.ts';

/** A tune of an ABC file that keeps one common metre throughout. */
export interface Score {
  readonly name: string;
  /** How many tunes the folder holds up to and with this one. */
  readonly position: number;
  readonly metre: { readonly count: number; readonly unit: number };
  readonly pickupBeats: number;
  readonly notes: readonly {
    readonly midi: number;
    readonly onsetBeats: number;
    readonly durationBeats: number;
  }[];
  /** First notes of the lines of the score. */
  readonly lineStarts: readonly number[];
}

const METRES = ['2/4', '3/4', '4/4', '6/8'];
const FEWEST_NOTES = 16;
const MOST_NOTES = 400;
/** How many bar lines of a tune, spread over it, are checked. */
const BARS_LOOKED_AT = 16;

/** The scores of a folder of ABC files, one in `every` of its tunes from `first` on. */
export function* scoresOf(folder: string, every: number, first: number): Generator<Score> {
  let seen = 0;
  for (const file of readdirSync(folder)
    .filter((name) => name.endsWith('.abc'))
    .sort()) {
    const text = readFileSync(join(folder, file), 'latin1').replaceAll('\r', '');
    for (const tune of text.split(/\n(?=X:)/)) {
      if (seen++ % every !== first) continue;
      const score = scoreOf(`${file} ${/^X:\s*(\d+)/m.exec(tune)?.[1] ?? ''}`, tune, seen);
      if (score !== null) yield score;
    }
  }
}

function scoreOf(name: string, tune: string, position: number): Score | null {
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
  const [count, unit] = metres[0].split('/').map(Number);
  const barBeats = (4 * count) / unit;
  const read = (text: string) => {
    try {
      return readAbc(new TextEncoder().encode(head + withoutRepeats(text)), name);
    } catch {
      return null;
    }
  };
  const melody = read(body.replace(/\n+/g, '\n'));
  if (melody === null || melody.notes.length < FEWEST_NOTES || melody.notes.length > MOST_NOTES) return null;
  // Where a bar line is, by a rest put before it as a note that cannot be in the tune.
  const barsAt: number[] = [];
  // A plain one: the bar before a double bar line or a repeat is often short, its rest being the pick-up that follows.
  for (const at of spread([...body.matchAll(/(?<![|:[])\|(?![|:\]])/g)].map(({ index }) => index))) {
    const before = read(`${body.slice(0, at).replace(/\n+/g, '\n')} z C,,,`);
    const mark = before?.notes[before.notes.length - 1];
    if (mark !== undefined && mark.midi < 30) barsAt.push(mark.onsetBeats - restUnit(head, barBeats));
  }
  if (barsAt.length < 4) return null;
  const isWhole = (bars: number) => Math.abs(bars - Math.round(bars)) < 1e-6;
  const pickupBeats = isWhole(barsAt[0] / barBeats) ? 0 : barsAt[0] % barBeats;
  if (!barsAt.every((at) => isWhole((at - pickupBeats) / barBeats))) return null;
  return {
    name,
    position,
    metre: { count, unit },
    pickupBeats,
    notes: melody.notes,
    lineStarts: melody.lineStarts,
  };
}

/** The music as it is written, every bar once, so that places in its text are places in its time. */
function withoutRepeats(music: string): string {
  return music.replace(/\[\||:*\|[|:\]]*|::+/g, '|').replace(/(?<=\|)\d[\d,-]*|\[\d[\d,-]*/g, '');
}

/** The first two, and others as evenly as they come. */
function spread(places: readonly number[]): number[] {
  const step = Math.max(1, places.length / BARS_LOOKED_AT);
  return places.filter((_, i) => i < 2 || Math.floor(i / step) !== Math.floor((i - 1) / step));
}

/** Length in beats of a bare `z`. */
function restUnit(head: string, barBeats: number): number {
  const unit = /^L:\s*(\d+)\/(\d+)/m.exec(head);
  return unit ? (4 * Number(unit[1])) / Number(unit[2]) : barBeats < 3 ? 0.25 : 0.5;
}
