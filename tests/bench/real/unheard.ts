/**
 * Scores the recordings that the pitch network has learnt from as if it had not: those of each player are heard by a network
 * trained without that player. Nothing is given. How often the harp is found counts those that are labelled; of some the
 * label is not sure.
 *   npx tsx tests/bench/real/unheard.ts FOLDER…
 */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { readWeights, type Weights } from '../../../src/analysis/pitch/network-weights.ts';
import { readRecording } from '../../../src/audio/read.ts';
import { transcribe } from '../../../src/pipeline.ts';
import { meanOver } from '../../../src/statistics.ts';
import { scoreOf } from '../scores/metrics.ts';
import { clipsIn, loadRealLabels } from './real-labels.ts';
import { addReal, heardEvents, type RealScore, scoreReal } from './real-score.ts';

const LABELS = fileURLToPath(new URL('../../real', import.meta.url));

/** Two networks, each trained on half of the players and naming the others. */
const UNHEARD = [1, 2].map((part): Weights & { readonly card: { readonly players: readonly string[] } } =>
  JSON.parse(readFileSync(new URL(`./unheard/${part}.json`, import.meta.url), 'utf8')),
);
/** Both networks have learnt from this recording: one of them from a copy of it by another name. */
export const LEARNT_BY_BOTH = 'fharp2.wav';
const shipped = { ...readWeights() };

/**
 * From now on in this process, sounds are heard by a network that has not learnt from a player; with null, by the one shipped.
 * @throws RangeError for a player whom both networks have learnt from
 */
export function hearAsIfUnheard(player: string | null): void {
  const weights = player === null ? shipped : UNHEARD.find(({ card }) => card.players.includes(player));
  if (weights === undefined) throw new RangeError(`no network has been trained without ${player}`);
  Object.assign(readWeights(), weights);
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const scores: RealScore[] = [];
  const harps: { readonly sure: boolean; readonly said: number; readonly right: boolean }[] = [];
  for (const { label, path } of clipsIn(process.argv.slice(2), loadRealLabels(LABELS))) {
    if (label.use !== 'develop' || label.audio === LEARNT_BY_BOTH) continue;
    hearAsIfUnheard(label.player);
    const { samples } = await readRecording(path);
    const { notes, harp } = await transcribe(samples, {}).catch(() => ({ notes: [], harp: null }));
    if (harp !== null && label.harpKey !== null) {
      const right = harp.key === label.harpKey && harp.tuning === 'richter';
      harps.push({ sure: label.harpSure, said: harp.confidence, right });
    }
    scores.push(scoreReal(label.notes, heardEvents(notes, harp), samples.length / samples.sampleRate));
  }
  const { clips, single, several, nobody, event, melody } = addReal(scores);
  console.log(
    `${clips} recordings: single ${single.matched} of ${single.reference}, several ${several.matched} of ${several.reference}, ` +
      `nobody played ${nobody.count}, event F1 ${scoreOf(event).f1.toFixed(3)}, melody F1 ${scoreOf(melody).f1.toFixed(3)}`,
  );
  const found = (of: typeof harps): string =>
    `${of.filter(({ right }) => right).length} of ${of.length}, said ${meanOver(0, of.length, (i) => of[i].said).toFixed(2)}`;
  console.log(
    `harp right in ${found(harps)}; where surely labelled in ${found(harps.filter(({ sure }) => sure))}`,
  );
}
