/** Order statistics of doubles, without branches that depend on their values. */

/** Moves everything but NaN to the front, in order. @returns how many there are */
export function dropNaN(values: usize, count: i32): i32 {
  const end = values + (count << 3);
  let to = values;
  for (let at = values; at < end; at += 8) {
    const x = load<f64>(at);
    store<f64>(to, x);
    // False only for NaN.
    to += (<usize>i32(x <= Infinity)) << 3;
  }
  return <i32>((to - values) >> 3);
}

/**
 * The value that sorting would put at `place` of `count` numbers: Hoare's quickselect (Comm. ACM 4(7), 321-322, 1961) with
 * the partition of Lomuto (Bentley, Programming Pearls, 1986). Afterwards no value before the place exceeds it.
 */
export function select(values: usize, count: i32, place: i32): f64 {
  let from = values;
  let last = values + ((count - 1) << 3);
  const wanted = values + (place << 3);
  while (from < last) {
    const pivot = middleOf(load<f64>(from), load<f64>(from + (((last - from) >> 4) << 3)), load<f64>(last));
    const equal = moveBelow(from, last, pivot);
    if (wanted < equal) {
      last = equal - 8;
      continue;
    }
    const above = moveUpTo(equal, last, pivot);
    if (wanted < above) return pivot;
    from = above;
  }
  return load<f64>(wanted);
}

/** Largest of `count` (at least 1) doubles. */
export function largest(values: usize, count: i32): f64 {
  let most = load<f64>(values);
  for (let i = 1; i < count; i++) most = max(most, load<f64>(values + (i << 3)));
  return most;
}

function middleOf(a: f64, b: f64, c: f64): f64 {
  return max(min(a, b), min(max(a, b), c));
}

/** Moves everything below the pivot to the front. @returns where the rest begins */
function moveBelow(from: usize, last: usize, pivot: f64): usize {
  let to = from;
  for (let at = from; at <= last; at += 8) {
    const x = load<f64>(at);
    store<f64>(at, load<f64>(to));
    store<f64>(to, x);
    to += (<usize>i32(x < pivot)) << 3;
  }
  return to;
}

/** Moves everything not above the pivot to the front. @returns where the rest begins */
function moveUpTo(from: usize, last: usize, pivot: f64): usize {
  let to = from;
  for (let at = from; at <= last; at += 8) {
    const x = load<f64>(at);
    store<f64>(at, load<f64>(to));
    store<f64>(to, x);
    to += (<usize>i32(x <= pivot)) << 3;
  }
  return to;
}
