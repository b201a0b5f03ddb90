/**
 * Fits the network in src/analysis/playing/claim-network.json and prints that file: how likely a note that is printed is there, is
 * one note and sounds just those pitches.
 *   npx tsx tests/bench/fit/fit-claim.ts FOLDER… --real FOLDER… [--check FOLDER…] > FILE
 * FOLDER holds rendered takes with their truth; of the recordings of players those to develop on are used, heard by networks
 * that haven't learnt from them. Tells on
 * standard error how well it is calibrated there, each clip judged by a network that did not see it, and on the takes
 * of --check and the other half of the recordings, which it never sees.
 */

import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { readRecording } from '../../../src/audio/read.ts';
import { logOddsOf, type SmallNetwork } from '../../../src/decode/small-network.ts';
import { type Heard, hearPlaying } from '../../../src/pipeline.ts';
import { probabilityOf } from '../../../src/statistics.ts';
import { midiToHz } from '../../../src/units.ts';
import { clipsIn, loadRealLabels } from '../real/real-labels.ts';
import type { HeardEvent } from '../real/real-score.ts';
import { hearAsIfUnheard, LEARNT_BY_BOTH } from '../real/unheard.ts';
import { realClaims, renderedClaims } from '../scores/claims.ts';
import { calibrationError, reliability } from '../scores/measure.ts';
import { textTable } from '../scores/table.ts';
import { loadTakes } from '../sets/takes.ts';
import { type Example, fitNetwork, fittedFile, rounded, today } from './fit-network.ts';

const LABELS = fileURLToPath(new URL('../../real', import.meta.url));
const RIDGE = 10;
/** Total weight of the recordings of players, relative to the rendered takes. */
const REAL_SHARE = 0.25;

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    real: { type: 'string', multiple: true, default: [] },
    check: { type: 'string', multiple: true, default: [] },
  },
});

/** The examples of one take. */
interface Take {
  readonly name: string;
  readonly examples: readonly Example[];
}

async function hear(path: string, harp: { harp?: string; tuning?: string }): Promise<Heard | null> {
  const { samples } = await readRecording(path);
  return hearPlaying(samples, harp).catch(() => null);
}

const asHeard = ({ events }: Heard): HeardEvent[] =>
  events.map(({ onsetSec, offsetSec, f0Hz, expectedMidi, set }) => ({
    onsetSec,
    offsetSec,
    pitchesHz: [
      f0Hz,
      ...(set?.midis ?? [])
        .filter((midi) => midi !== expectedMidi)
        .map((midi) => (f0Hz * midiToHz(midi)) / midiToHz(expectedMidi)),
    ],
  }));

function examplesOf(
  heard: Heard | null,
  right: (said: readonly HeardEvent[]) => readonly (boolean | null)[],
): Example[] {
  if (heard === null) return [];
  const claims = right(asHeard(heard));
  return heard.evidence.flatMap((features, i) => {
    const positive = claims[i];
    return positive === null ? [] : [{ features, positive, weight: 1 }];
  });
}

async function rendered(folders: readonly string[]): Promise<Take[]> {
  const takes: Take[] = [];
  for (const { path, harp, notes } of folders.flatMap(loadTakes)) {
    const heard = await hear(path, { harp: harp.key, tuning: harp.tuning });
    takes.push({ name: path, examples: examplesOf(heard, (said) => renderedClaims(notes, said)) });
  }
  return takes;
}

async function recorded(use: 'develop' | 'report'): Promise<Take[]> {
  const takes: Take[] = [];
  for (const { label, path } of clipsIn(values.real, loadRealLabels(LABELS))) {
    if (label.use !== use || label.audio === LEARNT_BY_BOTH) continue;
    hearAsIfUnheard(use === 'develop' ? label.player : null);
    const heard = await hear(path, {});
    takes.push({ name: label.player, examples: examplesOf(heard, (said) => realClaims(label.notes, said)) });
  }
  hearAsIfUnheard(null);
  return takes;
}

const all = (takes: readonly Take[]): Example[] => takes.flatMap(({ examples }) => examples);

function fitted(made: readonly Example[], real: readonly Example[]): SmallNetwork {
  const weight = real.length === 0 ? 0 : (REAL_SHARE * made.length) / real.length;
  return fitNetwork([...made, ...real.map((one) => ({ ...one, weight }))], 0, RIDGE);
}

type Said = [confidence: number, right: boolean];
const said = (network: SmallNetwork, examples: readonly Example[]): Said[] =>
  examples.map(({ features, positive }) => [probabilityOf(logOddsOf(network, features)), positive]);

/** Tells on standard error how well it is calibrated. @returns the same in a line */
function tell(name: string, confidence: readonly Said[]): string {
  if (confidence.length === 0) return `${name}: no notes`;
  const mean = confidence.reduce((sum, [value]) => sum + value, 0) / confidence.length;
  const right = confidence.filter(([, is]) => is).length / confidence.length;
  const loss = confidence.reduce((sum, [p, is]) => sum - Math.log(is ? p : 1 - p), 0) / confidence.length;
  const line =
    `${name}: ${confidence.length} notes, said ${mean.toFixed(3)}, right ${right.toFixed(3)}, ` +
    `calibration error ${calibrationError(confidence)?.toFixed(3)}, log loss ${loss.toFixed(3)}`;
  console.error(`\n${line}`);
  console.error(
    textTable([
      ['confidence', 'notes', 'said', 'right'],
      ...reliability(confidence).map((row) => [
        `${row.from.toFixed(1)} to ${row.to.toFixed(1)}`,
        String(row.count),
        row.meanConfidence.toFixed(3),
        row.shareRight.toFixed(3),
      ]),
    ]),
  );
  return line;
}

const made = await rendered(positionals);
const real = await recorded('develop');
const network = rounded(fitted(all(made), all(real)));
const training = [
  tell('rendered, fitted to', said(network, all(made))),
  tell('recorded, fitted to', said(network, all(real))),
];
const players = [...new Set(real.map(({ name }) => name))];
const heldOut = [
  tell(
    'recorded, each player left out',
    players.flatMap((player) => {
      const others = fitted(all(made), all(real.filter(({ name }) => name !== player)));
      return said(others, all(real.filter(({ name }) => name === player)));
    }),
  ),
];
for (const folder of values.check) heldOut.push(tell(folder, said(network, all(await rendered([folder])))));
heldOut.push(tell('recorded, the other half', said(network, all(await recorded('report')))));
const card = {
  what: 'claim: log odds that an event is there, is one note and sounds just its pitches, from claimFeatures (src/analysis/playing/claim.ts)',
  set: [...positionals, ...values.real.map((folder) => `the clips to develop on of ${folder}`)].join(', '),
  seed: 'none (no hidden units)',
  script: 'tests/bench/fit/fit-claim.ts',
  command:
    'npx tsx tests/bench/fit/fit-claim.ts FOLDER… --real FOLDER… [--check FOLDER…] > src/analysis/playing/claim-network.json',
  training: training.join('; '),
  heldOut: heldOut.join('; '),
  date: today(),
};
console.log(fittedFile(card, { claim: network }));
