export {
  countAbove,
  gatherAbove,
  halve,
  highest,
  part,
  peak,
  quantise,
  resample,
  sumOfSquares,
  widen,
} from './audio';
export { joinRuns } from './bars';
export { combPitches, hearPitches, scoreTogether } from './evidence';
export { arrive, changeTempo, open } from './grids';
export { partLanes } from './lanes';
export { dense, depthwise, gather, growth, spread, tell } from './network';
export { dropNaN, largest, select } from './order';
export { comb, compress, interpolate, peaks } from './salience';
export { power, sum, transform, unpack } from './spectrum';
export { advance, advanceSteady } from './viterbi';

/** First free byte of the memory; constants lie before it. */
export function base(): usize {
  return __heap_base;
}
