/**
 * What fitted weights are worth on data that they were not fitted to and that this repository can make by itself, in two minutes:
 *   npm run held-out
 * Bars: the six songs of `songs/proof-songs.ts`, played with rubato and breaths. Pitch: rendered takes with several holes of a
 * seed on which nothing was chosen. Tremolo and hands: takes with ornaments of such a seed. The cards of the weights quote these figures.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { onsetAround, rowOf, soundingAt } from '../../../src/analysis/pitch/evidence.ts';
import { analyseFrames } from '../../../src/analysis/pitch/frames.ts';
import { readRecording } from '../../../src/audio/read.ts';
import { findPlayable, playableNotes } from '../../../src/harp/playable.ts';
import { LEVEL_NETWORKS } from '../../../src/measure/ornaments/level-network.ts';
import { findWays, type WeighedWay } from '../../../src/music/rhythm/bars/ways.ts';
import { plansOf, restedNotes } from '../../../src/music/rhythm/beats.ts';
import { safestWay } from '../../../src/music/rhythm/confidence.ts';
import { barTicks } from '../../../src/music/rhythm/metre.ts';
import { meanTempo } from '../../../src/music/rhythm/pulses.ts';
import { HELD_OUT_ROUNDS, levelExamples, levelFigures } from '../ornaments/examples.ts';
import { ORNAMENT_SEEDS } from '../ornaments/takes.ts';
import { PROOF_SONGS } from '../songs/proof-songs.ts';
import { plannedTakes } from '../songs/takes.ts';
import { madeTakes } from '../together/report.ts';

/** Each song is played this many times with one verse, and as often with three. */
const SONG_SEEDS = 4;
/** As in `fit-bars.ts`, so that the figure can be compared with that of the training. */
const OTHER_OCTAVE = 0.4;
const LEAST_WORTH = 0.02;
/** Of takes on which no rule or constant was chosen. */
const TAKES_SEED = 60_607;

interface BarFigures {
  readonly f1: number;
  readonly confidence: number;
  /** Natural log of the expected worth of a way drawn by its probability, as in `fit-bars.ts`. */
  readonly logWorth: number;
}

function barFigures(byNetwork: boolean): BarFigures {
  const all = [...plannedTakes(SONG_SEEDS, PROOF_SONGS)].map(({ song, performance, take }): BarFigures => {
    const bar = (4 * song.metre.count) / song.metre.unit;
    const isDownbeat = performance.atBeats.map((at) => Math.min(at % bar, bar - (at % bar)) < 1e-6);
    const notes = restedNotes(take.notes);
    const given = { tempoBpm: null, pickupTicks: null, downbeatNote: null };
    const { ways } = findWays(notes, plansOf({}), given, byNetwork);
    const f1Of = ({ barred: { plan, atTicks } }: Pick<WeighedWay, 'barred'>): number => {
      const found = atTicks.map((at) => at % barTicks(plan.metre) === 0);
      const right = found.filter((is, i) => is && isDownbeat[i]).length;
      return (2 * right) / (isDownbeat.filter(Boolean).length + found.filter(Boolean).length);
    };
    const most = Math.max(...ways.map(({ score }) => score));
    const odds = ways.map(({ score }) => Math.exp(score - most));
    const total = odds.reduce((sum, one) => sum + one, 0);
    const worth = ways.reduce((sum, way, w) => {
      const octave = Math.abs(Math.log2(meanTempo(notes, way.read.path) / song.tempoBpm)) < 0.3;
      return sum + (odds[w] / total) * f1Of(way) * (octave ? 1 : 1 - OTHER_OCTAVE);
    }, LEAST_WORTH);
    const { way, confidence } = safestWay(ways);
    return { f1: f1Of(way), confidence, logWorth: Math.log(worth) };
  });
  const mean = (of: keyof BarFigures): number => all.reduce((sum, one) => sum + one[of], 0) / all.length;
  return { f1: mean('f1'), confidence: mean('confidence'), logWorth: mean('logWorth') };
}

/** Frames left out at both ends of a note: attack and release. */
const EDGE_FRAMES = 4;

async function pitchFigures(): Promise<string> {
  const folder = mkdtempSync(join(tmpdir(), 'reedtrace-held-out-'));
  const sum = { takes: 0, sounding: 0, heard: 0, frames: 0, extra: 0, onsets: 0, onsetsHeard: 0 };
  try {
    for (const { path, harp, events } of madeTakes(folder, TAKES_SEED, 1)) {
      const { samples } = await readRecording(path);
      const { evidence, hopSec } = await analyseFrames(samples, async () => {});
      const playable = playableNotes(harp);
      sum.takes++;
      for (const [i, event] of events.entries()) {
        if (event.shake === true) continue;
        const rows = (event.holes ?? [event.hole]).flatMap((hole) => {
          const plain =
            event.holes === undefined ? event : { hole, breath: event.breath, bend: 0, over: false };
          const note = findPlayable(playable, plain);
          return note === undefined ? [] : [rowOf(evidence, note.midi)];
        });
        const from = Math.round(event.onsetSec / hopSec);
        const to = Math.min(
          Math.round((event.onsetSec + 0.4) / hopSec),
          Math.round((events[i + 1]?.onsetSec ?? 0) / hopSec),
        );
        sum.onsets += rows.length;
        sum.onsetsHeard += rows.filter((row) => onsetAround(evidence, [row], from) > 0).length;
        for (let t = from + EDGE_FRAMES; t < to - EDGE_FRAMES; t++) {
          sum.frames++;
          sum.sounding += rows.length;
          sum.heard += rows.filter((row) => soundingAt(evidence, row, t) > 0).length;
          for (let row = 0; row < 128; row++)
            if (!rows.some((one) => Math.abs(one - row) <= 1) && soundingAt(evidence, row, t) > 0)
              sum.extra++;
        }
      }
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
  const percent = (count: number, of: number): string => `${((100 * count) / of).toFixed(1)} %`;
  return `of ${sum.sounding} pitches in ${sum.frames} frames of ${sum.takes} takes (seed ${TAKES_SEED}) ${percent(sum.heard, sum.sounding)} are heard, with ${((100 * sum.extra) / sum.frames).toFixed(1)} extra pitches per 100 frames; of ${sum.onsets} onsets ${percent(sum.onsetsHeard, sum.onsets)} are heard`;
}

const inWords = ({ f1, confidence, logWorth }: BarFigures): string =>
  `mean F1 of downbeats ${f1.toFixed(3)}, stated confidence ${confidence.toFixed(3)}, mean natural log of the expected worth ${logWorth.toFixed(4)}`;
const songs = `six songs that nothing was fitted to, ${2 * SONG_SEEDS * PROOF_SONGS.length} takes as played`;
console.log(`way-weights.json, without the network: ${songs}: ${inWords(barFigures(false))}`);
console.log(`bar-network.json: ${songs}: ${inWords(barFigures(true))}`);
console.log(`pitch-network.json: ${await pitchFigures()}`);
const withOrnaments = await levelExamples([ORNAMENT_SEEDS.report], HELD_OUT_ROUNDS);
console.log(
  `level-network.json: seed ${ORNAMENT_SEEDS.report}, ${HELD_OUT_ROUNDS} rounds: ${levelFigures(LEVEL_NETWORKS, withOrnaments)}`,
);
