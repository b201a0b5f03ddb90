import { arrange } from '../arrange/arrange.ts';
import { arrangedTake, changesInWords } from '../arrange/arranged-take.ts';
import { tuneFromMelody } from '../arrange/tune.ts';
import { parseHarpKey } from '../harp/keys.ts';
import { layoutOf } from '../harp/playable.ts';
import { melodyFromTake } from '../music/reading/take.ts';
import type { TabStyle } from '../tab/text.ts';
import { buildScore, type Score } from './score.ts';

/**
 * The easiest way of playing a tune on its own harp in its own key, an octave higher or lower if that is easier.
 * @returns null if the tune is easiest as it is, or no arrangement has all of its notes
 */
export function easierScore(score: Score, style: TabStyle): { score: Score; changes: string } | null {
  const { take, harp, title } = score;
  if (harp.length === 0) return null;
  const { melody, tab } = melodyFromTake(take, harp);
  const tune = tuneFromMelody(melody);
  const layout = layoutOf(take.harp);
  const key = parseHarpKey(take.harp.key);
  const played = { harp: key, layout, tab };
  const { candidates, played: today } = arrange(tune, {
    harps: [key],
    tunings: [layout],
    keepKey: true,
    played,
  });
  const [best] = candidates;
  if (best === undefined || today === null || best.missing > 0 || best.cost >= today.cost) return null;
  return {
    score: buildScore(arrangedTake(best, tune, melody, take, title), `${title}, an easier way`),
    changes: changesInWords(best, tab, take.harp, style),
  };
}
