/**
 * How many note values are found right on takes whose scores are known: the synthetic takes of a folder (times of their
 * truth files), or `report`, the takes of the set that nothing was developed on (times as planned, not rendered).
 *   npx tsx tests/bench/beats.ts FOLDER|report [--given] [--list]
 * --given tells the tempo beforehand; --list prints what was found wrong.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { planTake } from '../../samples/synth/plan.ts';
import { seededRng } from '../../samples/synth/rng.ts';
import { parseTune } from '../../samples/synth/tune.ts';
import { playableNotes } from '../../src/harp/playable.ts';
import { findBeats } from '../../src/music/beats.ts';
import { devTakes } from './devset.ts';

const [folder = 'samples', ...flags] = process.argv.slice(2);
const given = flags.includes('--given');
const list = flags.includes('--list');

interface Tally {
  takes: number;
  notes: number;
  right: number;
  /** Right when the whole take may be written in halves or doubles of the score's values. */
  sameRhythm: number;
}
const tallies = new Map<string, Tally>();
let spentMs = 0;

interface Known {
  readonly name: string;
  readonly tab: string;
  readonly tempoBpm: number;
  readonly category?: string;
  readonly notes: readonly { onsetSec: number; offsetSec: number; nominalMidi: number }[];
}

function planned(): Known[] {
  return devTakes('report').map(({ spec }) => {
    const plan = planTake(
      parseTune(spec.tab),
      playableNotes(spec.harp),
      spec.style,
      seededRng(spec.seed).fork('plan'),
    );
    const notes = plan.map(({ beginSec, endSec, note }) => ({
      onsetSec: beginSec,
      offsetSec: endSec,
      nominalMidi: note.midi,
    }));
    return {
      name: spec.name,
      tab: spec.tab,
      tempoBpm: spec.style.tempoBpm,
      category: spec.category,
      notes,
    };
  });
}

function inFolder(): Known[] {
  return readdirSync(folder)
    .filter((file) => file.endsWith('.truth.json'))
    .map((name) => ({ name, ...JSON.parse(readFileSync(join(folder, name), 'utf8')) }));
}

for (const truth of folder === 'report' ? planned() : inFolder()) {
  const { name } = truth;
  if (!truth.tempoBpm || !truth.tab || truth.notes.length === 0) continue;
  const values = parseTune(truth.tab).flatMap((step) => (step.kind === 'note' ? [step.beats] : []));
  if (values.length !== truth.notes.length) continue;
  const begun = performance.now();
  const notes = truth.notes.map((note) => ({ ...note, midi: note.nominalMidi }));
  const beats = findBeats(notes, given ? { tempoBpm: truth.tempoBpm } : {});
  spentMs += performance.now() - begun;
  const found = beats.notes.map((note) => note.lengthTicks / beats.ticksPerBeat);
  const count = (factor: number) =>
    found.filter((value, i) => Math.abs(value * factor - values[i]) < 0.02).length;
  const right = count(1);
  const sameRhythm = Math.max(right, count(2), count(0.5));
  const category = truth.category ?? 'demo';
  const tally = tallies.get(category) ?? { takes: 0, notes: 0, right: 0, sameRhythm: 0 };
  tallies.set(category, {
    takes: tally.takes + 1,
    notes: tally.notes + values.length,
    right: tally.right + right,
    sameRhythm: tally.sameRhythm + sameRhythm,
  });
  if (list && right < values.length) {
    const metre = beats.metre ? `${beats.metre.count}/${beats.metre.unit}` : 'free';
    console.log(
      `${name}: ${right}/${values.length} (${sameRhythm}) ${truth.tempoBpm} found ${beats.tempoBpm?.toFixed(1)} ${metre}`,
    );
    console.log(`  score ${values.join(' ')}`);
    console.log(`  found ${found.map((value) => Number(value.toFixed(2))).join(' ')}`);
  }
}
const percent = (part: number, whole: number) => `${((100 * part) / whole).toFixed(1)} %`.padStart(8);
console.log('category      takes  notes  right    in halves or doubles');
const all = { takes: 0, notes: 0, right: 0, sameRhythm: 0 };
for (const [category, tally] of [...tallies, ['all', all] as const]) {
  console.log(
    `${category.padEnd(13)}${String(tally.takes).padStart(6)}${String(tally.notes).padStart(7)} ${percent(tally.right, tally.notes)} ${percent(tally.sameRhythm, tally.notes)}`,
  );
  if (tally === all) break;
  all.takes += tally.takes;
  all.notes += tally.notes;
  all.right += tally.right;
  all.sameRhythm += tally.sameRhythm;
}
console.log(`${(spentMs / all.takes).toFixed(0)} ms a take`);
