/** Joining the runs of notes between which bar lines may shift (`join-runs.ts`): Viterbi decoding from the last run to the first. */

/** Counts, then byte offsets of arrays. `RunJoiner` writes these words in this order. */
@unmanaged
class Runs {
  links: u32;
  /** Places of the plan, and places where phrases may begin. */
  width: u32;
  homes: u32;
  /** Length of a row of `atLeast`. */
  rowLength: u32;
  /** By run and place: the score of a run that begins there, and the place of its last note. */
  score: usize;
  end: usize;
  /** By link: the fewest ticks, how many more there may be, where the scores of all these begin, and how surely a phrase begins after it. */
  fewest: usize;
  count: usize;
  scoresAt: usize;
  begins: usize;
  /** The steps of the plan (`BarSteps`). */
  begin: usize;
  ticks: usize;
  place: usize;
  atLeast: usize;
  logProb: usize;
  /** The places where phrases may begin. */
  home: usize;
  /** By place and home: scores up to the end, and room for those of the next run. */
  reached: usize;
  later: usize;
  /** By link, place and home: the step that leads on. */
  step: usize;
}

/**
 * Joins all runs.
 * @param other  what it adds that a phrase begins elsewhere than at its home; `same` is how much more it adds at its home
 * @returns the byte offset of the scores from the first run on, by place and home
 */
export function joinRuns(d: Runs, other: f64, same: f64): usize {
  const width = d.width;
  const homes = d.homes;
  const perRun = width * homes;
  let score = d.reached;
  let later = d.later;
  for (let p: u32 = 0, at = score; p < width; p++) {
    const own = load<f64>(d.score + ((d.links * width + p) << 3));
    for (let h: u32 = 0; h < homes; h++, at += 8) store<f64>(at, own);
  }
  for (let r = <i32>d.links - 1; r >= 0; r--) {
    const fewest = load<u32>(d.fewest + (r << 2));
    const most = fewest + load<u32>(d.count + (r << 2));
    const scores = <usize>load<u32>(d.scoresAt + (r << 2));
    const begins = load<f64>(d.begins + (r << 3));
    const swapped = score;
    score = later;
    later = swapped;
    for (let at: u32 = 0; at < perRun; at++) store<f64>(score + (at << 3), -Infinity);
    for (let h: u32 = 0; h < homes; h++) {
      const at = later + ((load<u32>(d.home + (h << 2)) * homes + h) << 3);
      store<f64>(at, load<f64>(at) + begins * same);
    }
    for (let p: u32 = 0; p < width; p++) {
      const own = load<f64>(d.score + ((r * width + p) << 3)) + begins * other;
      if (own === -Infinity) continue;
      const last = <u32>load<i16>(d.end + ((r * width + p) << 1));
      const here = score + ((p * homes) << 3);
      const taken = d.step + ((r * perRun + p * homes) << 1);
      const stop = load<u32>(d.begin + (last << 2), 4);
      for (let a = load<u32>(d.atLeast + ((last * d.rowLength + fewest) << 2)); a < stop; a++) {
        const ticks = <u32>load<i16>(d.ticks + (a << 1));
        if (ticks >= most) break;
        const there = later + ((<u32>load<i16>(d.place + (a << 1)) * homes) << 3);
        const gained = own + load<f64>(d.logProb + (a << 3)) + load<f64>(scores + ((ticks - fewest) << 3));
        for (let h: u32 = 0; h < homes; h++) {
          const reached = gained + load<f64>(there + (h << 3));
          if (reached <= load<f64>(here + (h << 3))) continue;
          store<f64>(here + (h << 3), reached);
          store<u16>(taken + (h << 1), <u16>a);
        }
      }
    }
  }
  return score;
}
