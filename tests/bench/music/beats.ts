/**
 * How many note values, bar lines and phrases are found right on takes whose scores are known:
 * - a folder of synthetic takes (times of their truth files), or `report`, the takes of the set that nothing was
 *   developed on, or `tune [SCALE]`, SCALE times as many as those that it was (times as planned, not rendered);
 * - `--scores FOLDER [EVERY FIRST]`: tunes of a folder of ABC files (music21 holds thousands), one in EVERY from the
 *   FIRST on, played by a made-up player; only these know where bar lines are.
 *   npx tsx tests/bench/music/beats.ts FOLDER|report|tune [SCALE]|--scores FOLDER [--given] [--list]
 * --given tells the tempo beforehand; --list prints what was found wrong.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { planTake } from '../../../samples/synth/plan.ts';
import { seededRng } from '../../../samples/synth/rng.ts';
import { parseTune } from '../../../samples/synth/tune.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import { findPhrases } from '../../../src/music/phrases.ts';
import { type Beats, findBeats } from '../../../src/music/rhythm/beats.ts';
import { barTicks, type Metre } from '../../../src/music/rhythm/metre.ts';
import { devTakes } from '../sets/devset.ts';
import { scoreTakes } from './score-takes.ts';

const words = process.argv.slice(2).filter((word) => word !== '--given' && word !== '--list');
const given = process.argv.includes('--given');
const list = process.argv.includes('--list');

interface Known {
  readonly name: string;
  readonly category: string;
  readonly tempoBpm: number;
  readonly notes: readonly { onsetSec: number; offsetSec: number; midi: number }[];
  /** Written lengths in beats. */
  readonly values: readonly number[];
  /** First notes of phrases after the first; those after a written rest may or may not begin one. */
  readonly phraseStarts: readonly number[];
  readonly afterRests: readonly number[];
  /** Of scores with bar lines. */
  readonly bars?: { readonly metre: Metre; readonly inBarTicks: readonly number[] };
}

const fresh = () => ({
  takes: 0,
  notes: 0,
  right: 0,
  /** Right when the whole take may be written in halves or doubles of the score's values. */
  sameRhythm: 0,
  phrases: 0,
  phrasesFound: 0,
  phrasesRight: 0,
  metres: 0,
  bars: 0,
  barsFound: 0,
  barsRight: 0,
});
type Tally = ReturnType<typeof fresh>;

/** What the tab of a synthetic take says; null when its notes are not those that were played. */
function known(
  take: Pick<Known, 'name' | 'category' | 'tempoBpm' | 'notes'> & { readonly tab: string },
): Known[] {
  const values: number[] = [];
  const phraseStarts: number[] = [];
  const afterRests: number[] = [];
  for (const step of parseTune(take.tab)) {
    if (step.kind === 'note') values.push(step.beats);
    else (step.kind === 'phrase' ? phraseStarts : afterRests).push(values.length);
  }
  return values.length === take.notes.length ? [{ ...take, values, phraseStarts, afterRests }] : [];
}

function planned(set: 'report' | 'tune', scale = '1'): Known[] {
  return devTakes(set, Number(scale)).flatMap(({ spec }) => {
    const rng = seededRng(spec.seed).fork('plan');
    const plan = planTake(parseTune(spec.tab), playableNotes(spec.harp), spec.style, rng);
    const notes = plan.map(({ beginSec, endSec, note }) => ({
      onsetSec: beginSec,
      offsetSec: endSec,
      midi: note.midi,
    }));
    const { name, category, tab } = spec;
    return known({ name, tab, category: category ?? 'demo', tempoBpm: spec.style.tempoBpm, notes });
  });
}

function inFolder(folder: string): Known[] {
  return readdirSync(folder)
    .filter((file) => file.endsWith('.truth.json'))
    .flatMap((name) => {
      const {
        category = 'demo',
        tab,
        tempoBpm,
        notes,
      } = JSON.parse(readFileSync(join(folder, name), 'utf8'));
      if (!tempoBpm || !tab) return [];
      const heard = notes.map((note: { onsetSec: number; offsetSec: number; nominalMidi: number }) => ({
        onsetSec: note.onsetSec,
        offsetSec: note.offsetSec,
        midi: note.nominalMidi,
      }));
      return known({ name, category, tempoBpm, tab, notes: heard });
    });
}

function fromScores(folder: string, every = '1', first = '0'): Known[] {
  return scoreTakes(folder, Number(every), Number(first)).map(
    ({ metre, inBarTicks, lineStarts, ...take }) => ({
      ...take,
      category: `${metre.count}/${metre.unit}`,
      phraseStarts: lineStarts.filter((start) => start > 0),
      afterRests: [],
      bars: { metre, inBarTicks },
    }),
  );
}

function addTo(tally: Tally, take: Known, beats: Beats): void {
  const { values } = take;
  const found = beats.notes.map((note) => note.lengthTicks / beats.ticksPerBeat);
  const count = (factor: number) =>
    found.filter((value, i) => Math.abs(value * factor - values[i]) < 0.02).length;
  const right = count(1);
  const sameRhythm = Math.max(right, count(2), count(0.5));
  tally.takes++;
  tally.notes += values.length;
  tally.right += right;
  tally.sameRhythm += sameRhythm;
  const metre = beats.metre ? `${beats.metre.count}/${beats.metre.unit}` : 'free';
  if (list && right < values.length) {
    console.log(
      `${take.name}: ${right}/${values.length} (${sameRhythm}) ${take.tempoBpm} found ${beats.tempoBpm.toFixed(1)} ${metre}`,
    );
    console.log(`  score ${values.join(' ')}`);
    console.log(`  found ${found.map((value) => Number(value.toFixed(2))).join(' ')}`);
  }
  const starts = findPhrases(take.notes)
    .slice(1)
    .map(({ firstNote }) => firstNote)
    .filter((start) => take.phraseStarts.includes(start) || !take.afterRests.includes(start));
  tally.phrases += take.phraseStarts.length;
  tally.phrasesFound += starts.length;
  tally.phrasesRight += starts.filter((start) => take.phraseStarts.includes(start)).length;
  if (!take.bars) return;
  const { inBarTicks, metre: written } = take.bars;
  if (metre === `${written.count}/${written.unit}`) tally.metres++;
  for (const [i, { atTicks }] of beats.notes.entries()) {
    const onBar = beats.metre !== null && atTicks % barTicks(beats.metre) === 0;
    if (onBar) tally.barsFound++;
    if (inBarTicks[i] === 0) tally.bars++;
    if (onBar && inBarTicks[i] === 0) tally.barsRight++;
  }
}

const takes =
  words[0] === '--scores'
    ? fromScores(words[1], words[2], words[3])
    : words[0] === 'report' || words[0] === 'tune'
      ? planned(words[0], words[1])
      : inFolder(words[0] ?? 'samples');
const tallies = new Map<string, Tally>();
const all = fresh();
let spentMs = 0;
for (const take of takes) {
  const begun = process.cpuUsage();
  const beats = findBeats(take.notes, given ? { tempoBpm: take.tempoBpm } : {});
  const { user, system } = process.cpuUsage(begun);
  spentMs += (user + system) / 1000;
  const tally = tallies.get(take.category) ?? fresh();
  tallies.set(take.category, tally);
  addTo(tally, take, beats);
}
const percent = (part: number, whole: number) =>
  whole === 0 ? ''.padStart(9) : `${((100 * part) / whole).toFixed(1)} %`.padStart(9);
console.log('category      takes  notes   values 2:1, 1:2  phrases: P, R        metre   bars: P, R');
for (const [category, tally] of [...tallies, ['all', all] as const]) {
  const bars = tally.bars > 0;
  console.log(
    category.padEnd(13) +
      String(tally.takes).padStart(6) +
      String(tally.notes).padStart(7) +
      percent(tally.right, tally.notes) +
      percent(tally.sameRhythm, tally.notes) +
      percent(tally.phrasesRight, tally.phrasesFound) +
      percent(tally.phrasesRight, tally.phrases) +
      (bars ? percent(tally.metres, tally.takes) : '') +
      (bars ? percent(tally.barsRight, tally.barsFound) : '') +
      (bars ? percent(tally.barsRight, tally.bars) : ''),
  );
  if (tally !== all) for (const key of Object.keys(all) as (keyof Tally)[]) all[key] += tally[key];
}
console.log(`${(spentMs / all.takes).toFixed(0)} ms of CPU a take`);
