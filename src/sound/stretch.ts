/** Length of one piece, long enough for three periods of the lowest reed (low F hole 1, 87 Hz). */
const PIECE_SEC = 0.04;
/** How far a piece may be shifted to fit, a period of the lowest reed. */
const SHIFT_SEC = 0.0115;
/** The best fit is first searched at this step in samples, then at every sample around it. */
const COARSE_STEP = 4;

/**
 * Makes sound slower or faster at the same pitch: overlapping pieces, each shifted so that it continues where the last
 * one left off (WSOLA; Verhelst and Roelands, Proc. ICASSP 1993, II-554-557).
 * @param factor length of the result relative to the original, > 0: 2 is half speed
 * @returns samples at the same rate, `round(samples.length * factor)` of them
 */
export function stretch(samples: Float32Array, sampleRate: number, factor: number): Float32Array {
  const out = new Float32Array(Math.round(samples.length * factor));
  let at = 0;
  for (const piece of stretchPieces(samples, sampleRate, factor)) {
    out.set(piece, at);
    at += piece.length;
  }
  return out;
}

/** The same piece by piece, each as soon as it is made. */
export function* stretchPieces(
  samples: Float32Array,
  sampleRate: number,
  factor: number,
): Generator<Float32Array> {
  if (factor === 1 || samples.length === 0) {
    yield samples;
    return;
  }
  const length = Math.round(samples.length * factor);
  const half = Math.max(8, Math.round((PIECE_SEC * sampleRate) / 2));
  const reach = Math.round(SHIFT_SEC * sampleRate);
  // A Hann window: with its neighbours half a piece away it sums to one.
  const fade = Float32Array.from({ length: 2 * half }, (_, i) => 0.5 - 0.5 * Math.cos((Math.PI * i) / half));
  let follows = 0;
  // The fading half of the last piece, to which the next is added.
  let fading: Float32Array = new Float32Array(half);
  for (let at = -half; at < length; at += half) {
    const wanted = Math.round((at + half) / factor) - half;
    const from = at === -half ? wanted : wanted + bestShift(samples, follows, wanted, half, reach);
    const piece = new Float32Array(2 * half);
    piece.set(fading);
    for (let i = 0; i < 2 * half; i++) piece[i] += fade[i] * (samples[from + i] ?? 0);
    if (at >= 0) yield piece.subarray(0, Math.min(half, length - at));
    fading = piece.subarray(half);
    follows = from + half;
  }
}

/** The shift at which the piece at `wanted` is most like the one that naturally follows (normalised correlation). */
function bestShift(
  samples: Float32Array,
  follows: number,
  wanted: number,
  half: number,
  reach: number,
): number {
  let best = 0;
  let bestScore = Number.NEGATIVE_INFINITY;
  const consider = (shift: number): void => {
    const score = likeness(samples, follows, wanted + shift, 2 * half);
    if (score > bestScore) {
      bestScore = score;
      best = shift;
    }
  };
  for (let shift = -reach; shift <= reach; shift += COARSE_STEP) consider(shift);
  const around = best;
  for (let shift = around - COARSE_STEP + 1; shift < around + COARSE_STEP; shift++) consider(shift);
  return best;
}

function likeness(samples: Float32Array, a: number, b: number, length: number): number {
  const from = Math.max(0, -a, -b);
  const to = Math.min(length, samples.length - a, samples.length - b);
  let product = 0;
  let power = 1e-9;
  // Every other sample is enough to compare.
  for (let i = from; i < to; i += 2) {
    product += samples[a + i] * samples[b + i];
    power += samples[b + i] * samples[b + i];
  }
  return product / Math.sqrt(power);
}
