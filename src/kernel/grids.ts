/**
 * Viterbi decoding of onsets on the grid of a bar plan, one note at a time (`metrical-hmm.ts`). A state is tempo × places +
 * place; scores are natural logs.
 */

/** The decoder of one plan: counts, then byte offsets of arrays. `PlanDecoder` writes these words in this order. */
@unmanaged
class Decoder {
  width: u32;
  tempos: u32;
  keptCount: u32;
  reachedCount: u32;
  movedCount: u32;
  likeliest: u32;
  /** By tempo: how well it is liked. */
  liking: usize;
  /** By state: scores at this note, and how each was reached: by which kept state, by how many ticks, and with what lead of the clock. */
  score: usize;
  nextFrom: usize;
  nextTicks: usize;
  nextAhead: usize;
  /** By state: scores after the change of tempo but before the step in the bar, and the kept states they came from. */
  moved: usize;
  movedFrom: usize;
  /** States that were moved, and states that were reached. */
  movedStates: usize;
  reachedStates: usize;
  /** Of each state that was kept: which it is, and how it was reached. */
  keptState: usize;
  keptFrom: usize;
  keptTicks: usize;
  keptAhead: usize;
  /** The steps of the plan (`BarSteps`). */
  begin: usize;
  ticks: usize;
  place: usize;
  atLeast: usize;
  logProb: usize;
  logProbRest: usize;
}

/** `TimeScores`, which writes these words in this order. */
@unmanaged
class Times {
  /** 1 if the time contains a rest. */
  rests: u32;
  /** Length of a row, leads of each tempo, and the lead of a clock that starts afresh. */
  width: u32;
  leads: u32;
  notAhead: u32;
  scores: usize;
  ahead: usize;
  peak: usize;
  fewest: usize;
  most: usize;
  likelyFewest: usize;
  likelyMost: usize;
  /** By row: 0 until it is known or wanted. */
  known: usize;
  wanted: usize;
}

/** `known` of a row that has been asked for. */
const WANTED: u8 = 2;

/** Gives every state its score at the first note, and keeps those within the beam. @returns the score of the best */
export function open(d: Decoder, t: Times, logShares: usize, beam: f64): f64 {
  let s: u32 = 0;
  for (let tempo: u32 = 0; tempo < d.tempos; tempo++) {
    const liked = load<f64>(d.liking + (tempo << 3));
    for (let place: u32 = 0; place < d.width; place++, s++) {
      store<f64>(d.score + (s << 3), liked + load<f64>(logShares + (place << 3)));
      store<f64>(d.moved + (s << 3), -Infinity);
      store<u32>(d.nextAhead + (s << 2), t.notAhead);
      store<u32>(d.reachedStates + (s << 2), s);
    }
  }
  d.reachedCount = s;
  return keepBest(d, beam);
}

/** Moves every kept state to the neighbouring tempos, and lists the rows of times that are needed then. @returns how many */
export function changeTempo(d: Decoder, t: Times, keep: f64, move: f64, weight: f64): u32 {
  const width = d.width;
  const last = d.tempos - 1;
  const moved = d.moved;
  forget(moved, d.movedStates, d.movedCount);
  let count: u32 = 0;
  let likeliest = load<u32>(d.keptState);
  for (let k: u32 = 0; k < d.keptCount; k++) {
    const s = load<u32>(d.keptState + (k << 2));
    const tempo = s / width;
    const own = load<f64>(d.score + (s << 3));
    const fastest = min(last, tempo + 1);
    for (let next = tempo > 0 ? tempo - 1 : 0; next <= fastest; next++) {
      const to = s + next * width - tempo * width;
      const score = own + (next === tempo ? keep : move) + weight * load<f64>(d.liking + (next << 3));
      const before = load<f64>(moved + (to << 3));
      if (score <= before) continue;
      if (before === -Infinity) store<u32>(d.movedStates + (count++ << 2), to);
      store<f64>(moved + (to << 3), score);
      store<u32>(d.movedFrom + (to << 2), k);
      if (score > load<f64>(moved + (likeliest << 3))) likeliest = to;
    }
  }
  d.movedCount = count;
  d.likeliest = likeliest;
  let wanted: u32 = 0;
  for (let m: u32 = 0; m < count; m++) {
    const row = rowOf(d, t, load<u32>(d.movedStates + (m << 2)));
    if (load<u8>(t.known + row) > 0) continue;
    store<u8>(t.known + row, WANTED);
    store<u32>(t.wanted + (wanted++ << 2), row);
  }
  return wanted;
}

/** The row of times of a state that was moved. */
function rowOf(d: Decoder, t: Times, state: u32): u32 {
  const from = load<u32>(d.movedFrom + (state << 2));
  return (state / d.width) * t.leads + (t.rests ? t.notAhead : load<u32>(d.keptAhead + (from << 2)));
}

/** Steps from every state that was moved to the next note, and keeps the states within the beam. @returns the score of the best */
export function arrive(d: Decoder, t: Times, beam: f64, slip: f64): f64 {
  const width = d.width;
  const score = d.score;
  const logProb = t.rests ? d.logProbRest : d.logProb;
  forget(score, d.reachedStates, d.reachedCount);
  let count: u32 = 0;
  let least = -Infinity;
  // The likeliest state comes first, so that most others can be skipped as outside its beam.
  for (let m: i32 = -1; m < <i32>d.movedCount; m++) {
    const state = m < 0 ? d.likeliest : load<u32>(d.movedStates + (m << 2));
    const here = load<f64>(d.moved + (state << 3));
    const row = rowOf(d, t, state);
    if (here + load<f64>(t.peak + (row << 3)) < least) continue;
    const place = state % width;
    const first = state - place;
    const from = load<u32>(d.movedFrom + (state << 2));
    const slips = here + slip >= least;
    const most = load<i16>((slips ? t.most : t.likelyMost) + (row << 1));
    const fewest = min(<i16>(t.width - 1), load<i16>((slips ? t.fewest : t.likelyFewest) + (row << 1)));
    const times = row * t.width;
    const end = load<u32>(d.begin + (place << 2), 4);
    for (let a = load<u32>(d.atLeast + ((place * t.width + fewest) << 2)); a < end; a++) {
      const distance = load<i16>(d.ticks + (a << 1));
      if (distance > most) break;
      const to = first + load<i16>(d.place + (a << 1));
      const reached = here + load<f64>(logProb + (a << 3)) + load<f64>(t.scores + ((times + distance) << 3));
      const before = load<f64>(score + (to << 3));
      if (reached < least || reached <= before) continue;
      if (before === -Infinity) store<u32>(d.reachedStates + (count++ << 2), to);
      store<f64>(score + (to << 3), reached);
      store<u32>(d.nextFrom + (to << 2), from);
      store<u32>(d.nextTicks + (to << 2), distance);
      store<u32>(d.nextAhead + (to << 2), load<u8>(t.ahead + times + distance));
      if (reached - beam > least) least = reached - beam;
    }
  }
  d.reachedCount = count;
  return keepBest(d, beam);
}

/** Keeps the states that were reached and score within the beam. @returns the score of the best */
function keepBest(d: Decoder, beam: f64): f64 {
  let best = -Infinity;
  for (let r: u32 = 0; r < d.reachedCount; r++) {
    best = max(best, load<f64>(d.score + (load<u32>(d.reachedStates + (r << 2)) << 3)));
  }
  const least = best - beam;
  let count: u32 = 0;
  for (let r: u32 = 0; r < d.reachedCount; r++) {
    const s = load<u32>(d.reachedStates + (r << 2));
    if (load<f64>(d.score + (s << 3)) < least) continue;
    store<u32>(d.keptState + (count << 2), s);
    store<u32>(d.keptFrom + (count << 2), load<u32>(d.nextFrom + (s << 2)));
    store<u32>(d.keptTicks + (count << 2), load<u32>(d.nextTicks + (s << 2)));
    store<u32>(d.keptAhead + (count << 2), load<u32>(d.nextAhead + (s << 2)));
    count++;
  }
  d.keptCount = count;
  return best;
}

/** Sets the scores of some states back to none. */
function forget(scores: usize, states: usize, count: u32): void {
  for (let i: u32 = 0; i < count; i++) store<f64>(scores + (load<u32>(states + (i << 2)) << 3), -Infinity);
}
