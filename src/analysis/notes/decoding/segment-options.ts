export interface SegmentOptions {
  /** Evidence below which nothing sounds, in a take with noise. */
  readonly threshold: number;
  /** Cost of starting a note, in nats. */
  readonly changeCost: number;
  /** Evidence subtracted at 100 cents from the pitch; it grows with the square of the deviation. */
  readonly deviationCost: number;
  /** How far from its pitch a held note is searched for, in semitones. */
  readonly reachSemitones: number;
  readonly attackReachSemitones: number;
  readonly attackDeviationCost: number;
  readonly attackCost: number;
  /** What the network's evidence for a lower pitch loses as part of an attack, in nats: on the same reed, and on no reed of the note. */
  readonly slideNats: number;
  readonly otherReedNats: number;
  readonly ceiling: number;
  /** Weights of the comb's and of the network's evidence. */
  readonly combWeight: number;
  readonly networkWeight: number;
  /** How much the network's evidence of an onset lowers the cost of a new note. */
  readonly onsetWeight: number;
  /** Cost of each pitch of a set, and of a shake, in nats. */
  readonly severalCost: number;
  /** Cost of a bend in a set, in nats. */
  readonly bentSetCost: number;
  /** What each pitch of a set gains per frame, in nats: the network underrates reeds that sound together. */
  readonly setBias: number;
  readonly shakeCost: number;
}

export const SEGMENT_DEFAULTS: SegmentOptions = {
  threshold: 1.0,
  changeCost: 9,
  deviationCost: 0.8,
  reachSemitones: 1.0,
  attackReachSemitones: 2.2,
  attackDeviationCost: 0.1,
  attackCost: 0.3,
  slideNats: 0.5,
  otherReedNats: 4,
  ceiling: 3,
  combWeight: 1,
  networkWeight: 0.4,
  onsetWeight: 1,
  severalCost: 1.5,
  bentSetCost: 10,
  setBias: 0.5,
  shakeCost: 6,
};
