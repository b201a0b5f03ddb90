export { halve, part, peak, quantise, resample, widen } from './audio';
export { comb, compress, interpolate, peaks } from './salience';
export { cut, power, transform, unpack } from './spectrum';
