/** Evidence for the states of the decoder (`src/analysis/notes/decoding/observer.ts`), in double precision. */

/** What several pitches that sound at once have in common: three doubles. */
const SUMMED: usize = 24;

/** What the comb heard and the pitches of a harp: counts, then byte offsets of arrays. `CombScores` writes these words in this order. */
@unmanaged
class Comb {
  /** Candidates of this frame, each a pitch and its strength, in doubles. */
  candidates: u32;
  candidateAt: usize;
  /** The pitches of the harp, ascending; the offset of each one's scores; and, for each whole semitone, the first pitch near it. */
  pitches: u32;
  midi: usize;
  place: usize;
  semitones: u32;
  near: usize;
  /** Doubles: how far from a held pitch, below an attack and above it a candidate may lie, and what its distance costs. */
  limits: usize;
}

/**
 * Scores of pitches by the candidates of the comb: for each pitch of its attack and held.
 * @param threshold  strength that counts for as much as silence
 */
export function combPitches(d: Comb, weight: f64, threshold: f64, scores: usize): void {
  const reach = load<f64>(d.limits);
  const below = load<f64>(d.limits, 8);
  const above = load<f64>(d.limits, 16);
  const heldCost = load<f64>(d.limits, 24);
  const attackCost = load<f64>(d.limits, 32);
  const pitches = d.pitches;
  memory.fill(scores, 0, pitches << 4);
  for (let c: u32 = 0; c < d.candidates; c++) {
    const heard = load<f64>(d.candidateAt + (c << 4));
    const strength = load<f64>(d.candidateAt + (c << 4), 8);
    const semitone = <u32>Math.floor(heard);
    if (semitone >= d.semitones) continue;
    let k = load<u32>(d.near + (semitone << 2));
    while (k < pitches && heard - load<f64>(d.midi + (k << 3)) > reach) k++;
    for (; k < pitches; k++) {
      const deviation = heard - load<f64>(d.midi + (k << 3));
      if (deviation < -below) break;
      const to = scores + <usize>load<u32>(d.place + (k << 2));
      const square = deviation * deviation;
      if (deviation < above) store<f64>(to, higher(load<f64>(to), strength - attackCost * square));
      if (deviation >= -reach) store<f64>(to, higher(load<f64>(to, 8), strength - heldCost * square), 8);
    }
  }
  const lowest = f64x2.splat(threshold);
  const by = f64x2.splat(weight);
  for (let at = scores; at < scores + (pitches << 4); at += 16)
    v128.store(at, f64x2.mul(by, f64x2.sub(v128.load(at), lowest)));
}

/**
 * Adds the network's evidence to the scores of `count` pitches, and fills in the evidence that they begin.
 * @param rows  for each pitch, the byte offset of its row within the network's evidence
 * @param below  number of rows below a pitch that may be its attack
 * @param costs  what each of these costs, for each pitch
 * @param scores  two for each pitch: of its attack and held
 * @param begun  the same
 */
export function hearPitches(
  count: usize,
  rows: usize,
  below: usize,
  costs: usize,
  sounding: usize,
  onset: usize,
  besideCost: f64,
  weight: f64,
  attackCost: f64,
  onsetWeight: f64,
  scores: usize,
  begun: usize,
): void {
  for (let i: usize = 0; i < count; i++, scores += 16, begun += 16) {
    const row = <usize>load<u32>(rows + (i << 2));
    const at = sounding + row;
    const here = load<f64>(at);
    let near = here;
    for (let j: usize = 1; j <= below; j++, costs += 8)
      near = higher(near, load<f64>(at - (j << 3)) - load<f64>(costs));
    const beside = higher(load<f64>(at - 8), load<f64>(at, 8)) - besideCost;
    store<f64>(scores, load<f64>(scores) + (weight * near - attackCost));
    store<f64>(scores, load<f64>(scores, 8) + weight * higher(here, beside), 8);
    const begins = onsetWeight * load<f64>(onset + row);
    store<f64>(begun, begins);
    store<f64>(begun, begins, 8);
  }
}

/** Of two numbers, without the care that `max` takes of NaN and -0. */
function higher(a: f64, b: f64): f64 {
  return select(b, a, b > a);
}

/**
 * Scores `count` states in each of which several things sound at once: the score of its best member, plus `weight` times the
 * sum, over its members, of the evidence for each and the state's bias.
 * @param members  three byte offsets for each of the `memberCount` that there are: of the evidence that it sounds, of the evidence
 * that it begins, and of its score
 * @param summed  room for what members, partial and whole states have summed up
 * @param joined  for each partial or whole state, the byte offsets within `summed` of what it adds up: all but its last member, and that
 * @param wholes  for each state, the byte offset within `summed` of its own
 * @param sizes  how many members each state has
 * @param begun  receives `onsetWeight` times the mean evidence that they begin
 */
export function scoreTogether(
  memberCount: usize,
  members: usize,
  joinedCount: usize,
  joined: usize,
  summed: usize,
  count: usize,
  wholes: usize,
  sizes: usize,
  biases: usize,
  weight: f64,
  onsetWeight: f64,
  scores: usize,
  begun: usize,
): void {
  let to = summed;
  for (let i: usize = 0; i < memberCount; i++, members += 12, to += SUMMED) {
    store<f64>(to, load<f64>(<usize>load<u32>(members)));
    store<f64>(to, load<f64>(<usize>load<u32>(members, 4)), 8);
    store<f64>(to, load<f64>(<usize>load<u32>(members, 8)), 16);
  }
  for (let i: usize = 0; i < joinedCount; i++, joined += 8, to += SUMMED) {
    const before = summed + <usize>load<u32>(joined);
    const last = summed + <usize>load<u32>(joined, 4);
    store<f64>(to, load<f64>(before) + load<f64>(last));
    store<f64>(to, load<f64>(before, 8) + load<f64>(last, 8), 8);
    store<f64>(to, higher(load<f64>(before, 16), load<f64>(last, 16)), 16);
  }
  for (let j: usize = 0; j < count; j++) {
    const own = summed + <usize>load<u32>(wholes + (j << 2));
    const heard = load<f64>(own) + load<f64>(biases + (j << 3));
    store<f64>(scores + (j << 3), load<f64>(own, 16) + weight * heard);
    store<f64>(begun + (j << 3), (onsetWeight * load<f64>(own, 8)) / load<f64>(sizes + (j << 3)));
  }
}
