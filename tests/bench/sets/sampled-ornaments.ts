import type { PlannedNote } from '../../../samples/synth/plan.ts';
import { handClosed } from '../../../samples/synth/planted.ts';
import { FALL_DB, fallen, slideCents, waveAt } from '../../../samples/synth/voice.ts';

/** What lies below this is the lower part for hands. */
const CROSSOVER_HZ = 1200;

/**
 * Ornaments on the notes of a sampled instrument, which lie one after the other in a layer: the pitch by reading faster or
 * slower, the level by gain, hands by two bands.
 */
export function withOrnaments(
  layer: Float32Array,
  plan: readonly PlannedNote[],
  parity: number,
  sampleRate: number,
): Float32Array {
  const out = layer.slice();
  const own = plan.filter((_, i) => i % 2 === parity);
  for (const [i, note] of own.entries()) {
    const { scoop, fall, vibrato, tremolo, hand } = note;
    if (!scoop && !fall && !vibrato && !tremolo && !hand) continue;
    const fromSample = Math.max(0, Math.floor(note.beginSec * sampleRate));
    const stopSec = Math.min(own[i + 1]?.beginSec ?? Number.POSITIVE_INFINITY, note.endSec + 0.4);
    const toSample = Math.min(layer.length - 2, Math.floor(stopSec * sampleRate));
    const smooth = 1 - Math.exp((-2 * Math.PI * CROSSOVER_HZ) / sampleRate);
    let place = fromSample;
    let lower = 0;
    for (let n = fromSample; n < toSample; n++) {
      const sec = n / sampleRate;
      const at = Math.min(layer.length - 2, Math.floor(place));
      const value = layer[at] + (place - at) * (layer[at + 1] - layer[at]);
      place += 2 ** ((slideCents(note, sec) + waveAt(vibrato, sec, note)) / 1200);
      lower += smooth * (value - lower);
      const closed = handClosed(note, sec);
      const heard = hand
        ? lower * 10 ** ((-closed * hand.lowDb) / 20) + (value - lower) * 10 ** ((-closed * hand.highDb) / 20)
        : value;
      const gainDb = waveAt(tremolo, sec, note) - (fall ? FALL_DB * fallen(note, sec) : 0);
      out[n] = heard * 10 ** (gainDb / 20);
    }
  }
  return out;
}
