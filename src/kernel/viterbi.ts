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
 * The same for lattices in which every state may persist, and its own arc is listed first: two states at a time.
 * @param states  a multiple of 8; those that only fill up have costs of -Infinity
 * @param costs  of each state's arc from itself
 * @param others  byte offsets within the scores, of a state and of the one that its second arc comes from
 * @param otherCosts,otherCount  costs and number of these arcs
 * @param second  room for the scores of all states by their second arc; -Infinity for those without
 * @param hubs  0 for each state that leads into the hub, -Infinity for the others
 * @param taken  two bits for each state: 0 for the hub, 1 for its own arc, 2 for the other
 */
export function advanceSteady(
  states: usize,
  costs: usize,
  others: usize,
  otherCosts: usize,
  otherCount: usize,
  second: usize,
  hubs: usize,
  hubCosts: usize,
  entered: usize,
  observed: usize,
  scores: usize,
  next: usize,
  taken: usize,
): usize {
  for (let i: usize = 0; i < otherCount; i++, others += 8) {
    const from = <usize>load<u32>(others, 4);
    store<f64>(
      second + <usize>load<u32>(others),
      load<f64>(scores + from) + load<f64>(otherCosts + (i << 3)),
    );
  }
  const hubScore = highestOf(states, scores, hubs);
  const hub: usize = hubScore === -Infinity ? 0 : firstAt(hubScore, scores, hubs);
  const through = f64x2.splat(hubScore);
  const bytes = states << 3;
  for (let at: usize = 0; at < bytes; at += 64, taken += 2) {
    let byHub: u32 = 0;
    let byOther: u32 = 0;
    for (let k: usize = 0; k < 4; k++) {
      const s = at + (k << 4);
      const own = f64x2.add(v128.load(scores + s), v128.load(costs + s));
      const other = v128.load(second + s);
      const isOther = f64x2.gt(other, own);
      const listed = v128.bitselect(other, own, isOther);
      const jump = f64x2.add(f64x2.add(through, v128.load(hubCosts + s)), v128.load(entered + s));
      const isJump = f64x2.gt(jump, listed);
      const best = v128.bitselect(jump, listed, isJump);
      v128.store(next + s, f64x2.add(best, v128.load(observed + s)));
      byOther |= i64x2.bitmask(isOther) << ((<u32>k) << 1);
      byHub |= i64x2.bitmask(isJump) << ((<u32>k) << 1);
    }
    const listed = ~byHub & 0xff;
    store<u16>(taken, apart(listed & ~byOther) | (apart(listed & byOther) << 1));
  }
  return hub;
}

function highestOf(states: usize, scores: usize, offsets: usize): f64 {
  let a = f64x2.splat(-Infinity);
  let b = a;
  for (let at: usize = 0; at < states << 3; at += 32) {
    a = f64x2.pmax(a, f64x2.add(v128.load(scores + at), v128.load(offsets + at)));
    b = f64x2.pmax(b, f64x2.add(v128.load(scores + at, 16), v128.load(offsets + at, 16)));
  }
  a = f64x2.pmax(a, b);
  return max(f64x2.extract_lane(a, 0), f64x2.extract_lane(a, 1));
}

/** Byte offset of the first state with this score, which there must be. */
function firstAt(score: f64, scores: usize, offsets: usize): usize {
  const wanted = f64x2.splat(score);
  let at: usize = 0;
  let found = 0;
  while (found === 0) {
    found = i64x2.bitmask(f64x2.eq(wanted, f64x2.add(v128.load(scores + at), v128.load(offsets + at))));
    at += 16;
  }
  return at - 16 + ((<usize>ctz(found)) << 3);
}

/** Eight bits with a gap after each. */
function apart(bits: u32): u32 {
  bits = (bits | (bits << 4)) & 0x0f0f;
  bits = (bits | (bits << 2)) & 0x3333;
  return (bits | (bits << 1)) & 0x5555;
}
