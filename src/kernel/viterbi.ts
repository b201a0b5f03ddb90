/** Best paths through a lattice, in double precision. */

/**
 * One step of the Viterbi algorithm: the best way into each of `states`, by an arc or through the hub, which leads from the
 * best of many states to any.
 * @param firstArcs  index of each state's first arc, and finally the number of arcs
 * @param sources  for each arc, the byte offset within the scores of the state that it comes from
 * @param hubs  byte offset within the scores of each of the `hubCount` states that lead into the hub
 * @param hubCosts,entered  costs of entering each state through the hub
 * @param bits  size of what is stored per state, 2 or 16: the number of its arc, from 1, or 0 for the hub
 * @param next  receives the new scores
 * @param taken  receives the stored arcs, in 16-bit words
 * @returns byte offset within the scores of the state from which the hub leads, the first of equal ones
 */
export function advance(
  states: usize,
  firstArcs: usize,
  sources: usize,
  costs: usize,
  hubs: usize,
  hubCount: usize,
  hubCosts: usize,
  entered: usize,
  observed: usize,
  bits: u32,
  scores: usize,
  next: usize,
  taken: usize,
): usize {
  let hub: usize = 0;
  let hubScore = -Infinity;
  for (let i: usize = 0; i < hubCount << 2; i += 4) {
    const from = <usize>load<u32>(hubs + i);
    const score = load<f64>(scores + from);
    const isBetter = score > hubScore;
    hub = select(from, hub, isBetter);
    hubScore = select(score, hubScore, isBetter);
  }
  let word: u32 = 0;
  let filled: u32 = 0;
  let arc = load<u32>(firstArcs);
  for (let s: usize = 0; s < states; s++) {
    const end = load<u32>(firstArcs + (s << 2), 4);
    let best = -Infinity;
    let code: u32 = 0;
    for (let number: u32 = 1; arc < end; arc++, number++) {
      const from = <usize>load<u32>(sources + ((<usize>arc) << 2));
      const score = load<f64>(scores + from) + load<f64>(costs + ((<usize>arc) << 3));
      const isBetter = score > best;
      best = select(score, best, isBetter);
      code = select(number, code, isBetter);
    }
    const at = s << 3;
    const through = hubScore + load<f64>(hubCosts + at) + load<f64>(entered + at);
    const isBetter = through > best;
    best = select(through, best, isBetter);
    code = select(<u32>0, code, isBetter);
    store<f64>(next + at, best + load<f64>(observed + at));
    word |= code << filled;
    filled += bits;
    if (filled === 16) {
      store<u16>(taken, word);
      taken += 2;
      word = 0;
      filled = 0;
    }
  }
  if (filled > 0) store<u16>(taken, word);
  return hub;
}

/**
 * Scores `count` states in each of which several things sound at once: the score of its best member, plus `weight` times the
 * sum, over its members, of the evidence for each and the state's bias.
 * @param sizes  how many members each state has, at least 1
 * @param members  three byte offsets for each: of the evidence that it sounds, of the evidence that it begins, and of its score
 * @param begun  receives `onsetWeight` times the mean evidence that they begin
 */
export function scoreTogether(
  count: usize,
  sizes: usize,
  members: usize,
  biases: usize,
  weight: f64,
  onsetWeight: f64,
  scores: usize,
  begun: usize,
): void {
  for (let j: usize = 0; j < count; j++) {
    const size = load<u32>(sizes + (j << 2));
    let heard: f64 = 0;
    let onset: f64 = 0;
    let best = -Infinity;
    const end = members + <usize>size * 12;
    for (; members < end; members += 12) {
      heard += load<f64>(<usize>load<u32>(members));
      onset += load<f64>(<usize>load<u32>(members, 4));
      best = max(best, load<f64>(<usize>load<u32>(members, 8)));
    }
    store<f64>(scores + (j << 3), best + weight * (heard + load<f64>(biases + (j << 3))));
    store<f64>(begun + (j << 3), (onsetWeight * onset) / <f64>size);
  }
}
