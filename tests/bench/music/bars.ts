/**
 * How many downbeats are found right, and what the confidence is worth, on tunes of folders of ABC files (any open corpus)
 * that a made-up player plays with rubato and breaths:
 *   npx tsx tests/bench/music/bars.ts [FOLDER[:EVERY:FIRST]…] [--every N] [--first N] [--heard [--once]] [--folk ROOT] [--list]
 * Of each folder one in EVERY of its tunes is played, from FIRST on. With `--heard` each is rendered in a quiet room, a room, and a
 * room by telephone, and transcribed; with `--once` in one of the three, in turn. With no folder: fifteen tunes that nothing is fitted
 * on, heard. `--every 10 --first 9` plays the tunes that every fit leaves out. `--folk ROOT` plays the folk tunes that are kept for
 * reporting once each, from folders of those names in ROOT (`tests/bench/README.md` says where they come from).
 */
import { basename, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { findBeats } from '../../../src/music/rhythm/beats.ts';
import { barTicks } from '../../../src/music/rhythm/metre.ts';
import { textTable } from '../scores/table.ts';
import { type HeardTake, heardTake, SCENE_COUNT } from './heard-tunes.ts';
import { type ScoreTake, scoreTakes } from './score-takes.ts';

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    every: { type: 'string' },
    first: { type: 'string' },
    heard: { type: 'boolean', default: false },
    once: { type: 'boolean', default: false },
    folk: { type: 'string' },
    list: { type: 'boolean', default: false },
  },
});

const fresh = () => ({
  takes: 0,
  written: 0,
  found: 0,
  right: 0,
  f1: 0,
  said: 0,
  apart: 0,
  tempo: 0,
  metre: 0,
});
const rows = [['folder', 'takes', 'P', 'R', 'F1', 'mean F1', 'said', 'apart', 'tempo octave', 'metre']];
const all = fresh();
const bins = new Map<number, { takes: number; f1: number; said: number }>();

function add(tally: ReturnType<typeof fresh>, of: ReturnType<typeof fresh>): void {
  for (const key of Object.keys(of) as (keyof typeof of)[]) tally[key] += of[key];
}

function row(name: string, tally: ReturnType<typeof fresh>): void {
  const precision = tally.right / Math.max(1, tally.found);
  const recall = tally.right / Math.max(1, tally.written);
  const f1 = (2 * precision * recall) / Math.max(1e-9, precision + recall);
  const mean = (sum: number) => (sum / Math.max(1, tally.takes)).toFixed(3);
  rows.push([
    name,
    String(tally.takes),
    precision.toFixed(3),
    recall.toFixed(3),
    f1.toFixed(3),
    mean(tally.f1),
    mean(tally.said),
    mean(tally.apart),
    mean(tally.tempo),
    mean(tally.metre),
  ]);
}

interface Folder {
  readonly folder: string;
  readonly every: number;
  readonly first: number;
}

/** What is played of a folder: the notes as planned; heard, each tune once in every scene, and played differently each time. */
async function* played({
  folder,
  every,
  first,
}: Folder): AsyncGenerator<{ take: ScoreTake; notes: HeardTake }> {
  if (!heard) {
    for (const take of scoreTakes(folder, every, first, true)) yield { take, notes: take };
    return;
  }
  for (let scene = 0; scene < SCENE_COUNT; scene++) {
    for (const [i, take] of scoreTakes(folder, every, first, true, false, scene).entries()) {
      if (once && i % SCENE_COUNT !== scene) continue;
      const notes = await heardTake(take, scene, SCENE_COUNT * i + scene);
      if (notes !== null) yield { take, notes };
      else if (values.list) console.log(`${take.name}: no harp has all its notes`);
    }
  }
}

const FIFTEEN = fileURLToPath(new URL('tunes/', import.meta.url));
/** Folk tunes that nothing is fitted to or chosen by: folders, one in how many of their tunes, and the first. */
const FOLK = [
  'abc-tunebook:2:0',
  'tunebook-abc/abc:2:0',
  'cunla_tunebook/tunes:1:0',
  'folkwiki:200:99',
  'oneills1850:40:39',
  'ryansMammoth:40:39',
  'airdsAirs:40:39',
  'nottingham:40:39',
  'essenFolksong:400:119',
];
if (values.folk !== undefined) positionals.push(...FOLK.map((folder) => join(values.folk ?? '', folder)));
const heard = values.heard || values.folk !== undefined || positionals.length === 0;
const once = values.once || values.folk !== undefined;
const folders = positionals.map((given): Folder => {
  const [, folder, every, first] = /^(.*?)(?::(\d+):(\d+))?$/.exec(given) ?? [];
  return { folder, every: Number(every ?? values.every ?? 10), first: Number(first ?? values.first ?? 9) };
});
if (folders.length === 0) folders.push({ folder: FIFTEEN, every: 1, first: 0 });
for (const of of folders) {
  const tally = fresh();
  for await (const {
    take,
    notes: { notes, inBarTicks },
  } of played(of)) {
    const beats = findBeats(notes);
    const { metre } = beats;
    const found = beats.notes.map(({ atTicks }) => metre !== null && atTicks % barTicks(metre) === 0);
    const right = found.filter((onBar, i) => onBar && inBarTicks[i] === 0).length;
    const written = inBarTicks.filter((at) => at === 0).length;
    const count = found.filter(Boolean).length;
    const f1 = (2 * right) / Math.max(1, written + count);
    const octave = Math.abs(Math.log2(beats.tempoBpm / take.tempoBpm)) < 0.3;
    const one = {
      takes: 1,
      written,
      found: count,
      right,
      f1,
      said: beats.confidence,
      apart: Math.abs(f1 - beats.confidence),
      tempo: octave ? 1 : 0,
      metre: metre?.count === take.metre.count && metre.unit === take.metre.unit ? 1 : 0,
    };
    add(tally, one);
    const bin = Math.min(9, Math.floor(10 * beats.confidence));
    const old = bins.get(bin) ?? { takes: 0, f1: 0, said: 0 };
    bins.set(bin, { takes: old.takes + 1, f1: old.f1 + f1, said: old.said + beats.confidence });
    if (values.list)
      console.log(
        `${take.name}: ${take.metre.count}/${take.metre.unit} ${take.tempoBpm.toFixed(0)}, found ${metre === null ? 'free' : `${metre.count}/${metre.unit}`} ${beats.tempoBpm}, F1 ${f1.toFixed(2)}, said ${beats.confidence}`,
      );
  }
  row(of.folder === FIFTEEN ? 'fifteen tunes' : basename(of.folder), tally);
  add(all, tally);
}
row('all', all);
console.log(textTable(rows));
for (const [bin, { takes, f1, said }] of [...bins].sort(([a], [b]) => a - b))
  console.log(
    `said ${(bin / 10).toFixed(1)}+: ${takes} takes, said ${(said / takes).toFixed(2)}, F1 ${(f1 / takes).toFixed(2)}`,
  );
