/*
 * Probe-tone profiles for major and minor keys, keynote first (Krumhansl & Kessler 1982, Psychological Review 89,
 * 334-368). [from memory]
 */
const MAJOR = [6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88];
const MINOR = [6.33, 2.68, 3.52, 5.38, 2.6, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17];

/** Bonus in correlation for the last note being the keynote, since most folk tunes end on it (chosen by trying). */
const FINAL_BONUS = 0.25;

/**
 * How well each pitch class fits as the keynote of a tune, from how long each sounds and which one the tune ends on
 * (Krumhansl & Schmuckler key finding: correlation with the profiles).
 * @param notes  at least one, in time order; `length` in any unit
 * @returns twelve fits, from C up, -1 to 1.25
 */
export function keynoteFits(notes: readonly { midi: number; length: number }[]): number[] {
  const heard = new Array<number>(12).fill(0);
  for (const { midi, length } of notes) heard[midi % 12] += length;
  const last = notes[notes.length - 1].midi % 12;
  return heard.map((_, tonic) => {
    const turned = heard.map((__, i) => heard[(i + tonic) % 12]);
    const fit = Math.max(correlation(turned, MAJOR), correlation(turned, MINOR));
    return fit + (tonic === last ? FINAL_BONUS : 0);
  });
}

/**
 * Guesses the keynote of a tune: the best-fitting pitch class.
 * @param notes  at least one, in time order
 * @returns pitch class, 0 = C … 11 = B
 */
export function guessTonic(notes: readonly { midi: number; durationBeats: number }[]): number {
  const fits = keynoteFits(notes.map(({ midi, durationBeats }) => ({ midi, length: durationBeats })));
  return fits.indexOf(Math.max(...fits));
}

/** Pearson correlation; 0 when either side does not vary. */
function correlation(a: readonly number[], b: readonly number[]): number {
  const meanA = a.reduce((sum, value) => sum + value, 0) / a.length;
  const meanB = b.reduce((sum, value) => sum + value, 0) / b.length;
  let ab = 0;
  let aa = 0;
  let bb = 0;
  for (let i = 0; i < a.length; i++) {
    ab += (a[i] - meanA) * (b[i] - meanB);
    aa += (a[i] - meanA) ** 2;
    bb += (b[i] - meanB) ** 2;
  }
  return aa === 0 || bb === 0 ? 0 : ab / Math.sqrt(aa * bb);
}
