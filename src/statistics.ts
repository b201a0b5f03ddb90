/** Where values are put in order; nothing stays there from one call to the next. */
let room = new Float64Array(1024);

/** The value that a share of the others lie below; NaN of nothing. */
export function quantile(values: ArrayLike<number>, share: number): number {
  const { length } = values;
  return valueInOrder(values, Math.min(length - 1, Math.floor(length * share)));
}

/** The value that so many of the others come before when they are in order; NaN past the last. */
export function valueInOrder(values: ArrayLike<number>, place: number): number {
  return at(takeIn(values), place);
}

/** The middle value; NaN of nothing. */
export function median(values: ArrayLike<number>): number {
  const { length } = values;
  const middle = length >> 1;
  const upper = valueInOrder(values, middle);
  if (length % 2 === 1 || length === 0) return upper;
  // All that is before the middle is below it now.
  let lower = room[0];
  for (let i = 1; i < middle; i++) if (room[i] > lower) lower = room[i];
  return (lower + upper) / 2;
}

/** Puts the values into `room`, but for those that are no numbers. @returns how many there are */
function takeIn(values: ArrayLike<number>): number {
  if (room.length < values.length) room = new Float64Array(2 * values.length);
  // Copied by the machine: a loop that meets every kind of array is compiled anew for each.
  room.set(values);
  let count = 0;
  for (let i = 0; i < values.length; i++) {
    const value = room[i];
    if (!Number.isNaN(value)) room[count++] = value;
  }
  return count;
}

/**
 * What would stand at a place if the `count` values in `room` were in order; NaN past them: Hoare's quickselect (Comm.
 * ACM 4(7), 321-322, 1961), which leaves nothing above it before that place.
 */
function at(count: number, place: number): number {
  if (place < 0 || place >= count) return Number.NaN;
  let from = 0;
  let to = count - 1;
  while (from < to) {
    const pivot = room[(from + to) >> 1];
    let i = from;
    let j = to;
    while (i <= j) {
      while (room[i] < pivot) i++;
      while (pivot < room[j]) j--;
      if (i > j) break;
      const swapped = room[i];
      room[i++] = room[j];
      room[j--] = swapped;
    }
    if (place <= j) to = j;
    else if (place >= i) from = i;
    else break;
  }
  return room[place];
}

/** The probability that goes with log odds in nats. */
export function probabilityOf(logOdds: number): number {
  return 1 / (1 + Math.exp(-logOdds));
}
