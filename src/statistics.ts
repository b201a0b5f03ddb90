import { Kernel } from './kernel.ts';

/** Scratch memory for the values to be sorted, and its capacity; nothing is kept between calls. */
let room = 0;
let kernel = new Kernel(0);
let valuesAt = 0;

/** The value below which this share of the values lies; NaN when there are none. */
export function quantile(values: ArrayLike<number>, share: number): number {
  const { length } = values;
  return orderStatistic(values, Math.min(length - 1, Math.floor(length * share)));
}

/**
 * The value at this place, from 0, in ascending order, ignoring NaN; NaN past the last.
 */
export function orderStatistic(values: ArrayLike<number>, place: number): number {
  const count = takeIn(values);
  return place < 0 || place >= count ? Number.NaN : kernel.code.select(valuesAt, count, place);
}

/** The median of the values, ignoring NaN; NaN when there are none. */
export function median(values: ArrayLike<number>): number {
  const count = takeIn(values);
  if (count === 0) return Number.NaN;
  const middle = count >> 1;
  const upper = kernel.code.select(valuesAt, count, middle);
  // The kernel has put all smaller values before the middle.
  return count % 2 === 1 ? upper : (kernel.code.largest(valuesAt, middle) + upper) / 2;
}

/** Copies the values into the kernel, except NaN. @returns how many there are */
function takeIn(values: ArrayLike<number>): number {
  const { length } = values;
  if (length > room) {
    room = Math.max(SMALLEST_ROOM, 2 * length);
    kernel = new Kernel(8 * room);
    valuesAt = kernel.reserve(2 * room);
  }
  kernel.doubles.set(values, valuesAt / 8);
  return kernel.code.dropNaN(valuesAt, length);
}

/** Initial capacity, in numbers. */
const SMALLEST_ROOM = 1024;

/** The probability for log odds in nats. */
export function probabilityOf(logOdds: number): number {
  return 1 / (1 + Math.exp(-logOdds));
}

/** Natural log of the density of Student's t, up to a constant that depends on the degrees of freedom. */
export function logStudentT(value: number, scale: number, degrees: number): number {
  return -0.5 * (degrees + 1) * Math.log(1 + (value / scale) ** 2 / degrees) - Math.log(scale);
}

/** The mean of a function over whole numbers [from, to); 0 where there are none. */
export function meanOver(from: number, to: number, valueAt: (at: number) => number): number {
  let sum = 0;
  for (let at = from; at < to; at++) sum += valueAt(at);
  return sum / Math.max(1, to - from);
}
