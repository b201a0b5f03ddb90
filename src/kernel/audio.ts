/** What every sample of a recording passes through on its way into the store and out of it. */

/** Splits `pairs` pairs of floats into the first and the second of each; up to three more of each are written. */
export function part(input: usize, pairs: usize, first: usize, second: usize): void {
  for (let i: usize = 0; i < pairs; i += 4) {
    const a = v128.load(input + (i << 3));
    const b = v128.load(input + (i << 3), 16);
    v128.store(first + (i << 2), v128.shuffle<f32>(a, b, 0, 2, 4, 6));
    v128.store(second + (i << 2), v128.shuffle<f32>(a, b, 1, 3, 5, 7));
  }
}

/**
 * Half-band low-pass: out[k] = even[k] / 2 + Σ tap[j] · (odd[k + pairs - 1 - j] + odd[k + pairs + j]), for `count`
 * outputs; up to 15 more are written.
 */
export function halve(even: usize, odd: usize, taps: usize, pairs: usize, count: usize, out: usize): void {
  const half = f32x4.splat(0.5);
  const last = taps + (pairs << 2);
  for (let k: usize = 0; k < count; k += 16) {
    const centre = even + (k << 2);
    let a = f32x4.mul(half, v128.load(centre));
    let b = f32x4.mul(half, v128.load(centre, 16));
    let c = f32x4.mul(half, v128.load(centre, 32));
    let d = f32x4.mul(half, v128.load(centre, 48));
    let after = odd + ((k + pairs) << 2);
    let before = after - 4;
    for (let at = taps; at < last; at += 4, before -= 4, after += 4) {
      const tap = v128.load32_splat(at);
      a = f32x4.add(a, f32x4.mul(tap, f32x4.add(v128.load(before), v128.load(after))));
      b = f32x4.add(b, f32x4.mul(tap, f32x4.add(v128.load(before, 16), v128.load(after, 16))));
      c = f32x4.add(c, f32x4.mul(tap, f32x4.add(v128.load(before, 32), v128.load(after, 32))));
      d = f32x4.add(d, f32x4.mul(tap, f32x4.add(v128.load(before, 48), v128.load(after, 48))));
    }
    const to = out + (k << 2);
    v128.store(to, a);
    v128.store(to, b, 16);
    v128.store(to, c, 32);
    v128.store(to, d, 48);
  }
}

/** Largest magnitude of `count` (a multiple of 8) floats; NaN if one of them is NaN. */
export function peak(data: usize, count: usize): f32 {
  let a = f32x4.splat(0);
  let b = a;
  for (let i: usize = 0; i < count; i += 8) {
    a = f32x4.max(a, f32x4.abs(v128.load(data + (i << 2))));
    b = f32x4.max(b, f32x4.abs(v128.load(data + (i << 2), 16)));
  }
  return highestLane(f32x4.max(a, b));
}

function highestLane(x: v128): f32 {
  const low = max(f32x4.extract_lane(x, 0), f32x4.extract_lane(x, 1));
  const high = max(f32x4.extract_lane(x, 2), f32x4.extract_lane(x, 3));
  return max(low, high);
}

/** Largest of `count` (a multiple of 4) floats times `sign`, but at least 0. */
export function highest(data: usize, count: usize, sign: f32): f32 {
  const by = f32x4.splat(sign);
  let most = f32x4.splat(0);
  for (let i: usize = 0; i < count; i += 4) {
    most = f32x4.pmax(most, f32x4.mul(by, v128.load(data + (i << 2))));
  }
  return highestLane(most);
}

/** How many of `count` (a multiple of 4) floats times `sign` are above a level. */
export function countAbove(data: usize, count: usize, sign: f32, level: f32): i32 {
  const by = f32x4.splat(sign);
  const least = f32x4.splat(level);
  let found = i32x4.splat(0);
  for (let i: usize = 0; i < count; i += 4) {
    // A true comparison is -1.
    found = i32x4.sub(found, f32x4.gt(f32x4.mul(by, v128.load(data + (i << 2))), least));
  }
  return (
    i32x4.extract_lane(found, 0) +
    i32x4.extract_lane(found, 1) +
    i32x4.extract_lane(found, 2) +
    i32x4.extract_lane(found, 3)
  );
}

/** Those of `count` (a multiple of 4) floats times `sign` that are above a level, in order. @returns their number */
export function gatherAbove(data: usize, count: usize, sign: f32, level: f32, out: usize): i32 {
  const by = f32x4.splat(sign);
  const least = f32x4.splat(level);
  let to = out;
  for (let i: usize = 0; i < count; i += 4) {
    const x = v128.load(data + (i << 2));
    let mask = i32x4.bitmask(f32x4.gt(f32x4.mul(by, x), least));
    while (mask !== 0) {
      store<f32>(to, sign * load<f32>(data + ((i + <usize>ctz(mask)) << 2)));
      to += 4;
      mask &= mask - 1;
    }
  }
  return <i32>((to - out) >> 2);
}

/** Sum of the squares of 16-bit integers, none of them -32768; exact. */
export function sumOfSquares(integers: usize, count: usize): f64 {
  let a = i64x2.splat(0);
  let b = a;
  let i: usize = 0;
  for (; i + 8 <= count; i += 8) {
    const x = v128.load(integers + (i << 1));
    const pairs = i32x4.dot_i16x8_s(x, x);
    a = i64x2.add(a, i64x2.extend_low_i32x4_s(pairs));
    b = i64x2.add(b, i64x2.extend_high_i32x4_s(pairs));
  }
  a = i64x2.add(a, b);
  let sum = i64x2.extract_lane(a, 0) + i64x2.extract_lane(a, 1);
  for (; i < count; i++) {
    const x = <i32>load<i16>(integers + (i << 1));
    sum += <i64>(x * x);
  }
  return <f64>sum;
}

/** `count` (a multiple of 8) floats times `factor`, in double precision, rounded to 16-bit integers. */
export function quantise(data: usize, count: usize, factor: f64, out: usize): void {
  const by = f64x2.splat(factor);
  for (let i: usize = 0; i < count; i += 8) {
    const from = data + (i << 2);
    v128.store(
      out + (i << 1),
      i16x8.narrow_i32x4_s(fourIntegers(v128.load(from), by), fourIntegers(v128.load(from, 16), by)),
    );
  }
}

function fourIntegers(x: v128, by: v128): v128 {
  const low = f64x2.nearest(f64x2.mul(f64x2.promote_low_f32x4(x), by));
  const high = f64x2.nearest(f64x2.mul(f64x2.promote_low_f32x4(v128.shuffle<f64>(x, x, 1, 0)), by));
  return v128.shuffle<f64>(i32x4.trunc_sat_f64x2_s_zero(low), i32x4.trunc_sat_f64x2_s_zero(high), 0, 2);
}

/** `count` 16-bit integers times `scale` as floats; up to seven more are written. */
export function widen(integers: usize, count: usize, scale: f32, out: usize): void {
  const by = f32x4.splat(scale);
  for (let i: usize = 0; i < count; i += 8) {
    const x = v128.load(integers + (i << 1));
    const to = out + (i << 2);
    v128.store(to, f32x4.mul(f32x4.convert_i32x4_s(i32x4.extend_low_i16x8_s(x)), by));
    v128.store(to, f32x4.mul(f32x4.convert_i32x4_s(i32x4.extend_high_i16x8_s(x)), by), 16);
  }
}

/**
 * Reads a signal at `count` (a multiple of 4) places, `pace` samples apart, by cubic Lagrange interpolation between the four
 * samples around each.
 * @param from  position of the first place, 1 or more; small enough for single precision to resolve fractions of a sample
 */
export function resample(signal: usize, from: f32, pace: f32, count: usize, out: usize): void {
  let place = f32x4.add(f32x4.splat(from), f32x4.mul(f32x4.splat(pace), f32x4(0, 1, 2, 3)));
  const four = f32x4.splat(4 * pace);
  const half = f32x4.splat(0.5);
  const third = f32x4.splat(<f32>(1.0 / 3.0));
  const sixth = f32x4.splat(<f32>(1.0 / 6.0));
  for (let i: usize = 0; i < count; i += 4) {
    const below = i32x4.trunc_sat_f32x4_s(place);
    const d = f32x4.sub(place, f32x4.convert_i32x4_s(below));
    const before = signal - 4;
    const p = v128.load(before + ((<usize>i32x4.extract_lane(below, 0)) << 2));
    const q = v128.load(before + ((<usize>i32x4.extract_lane(below, 1)) << 2));
    const r = v128.load(before + ((<usize>i32x4.extract_lane(below, 2)) << 2));
    const s = v128.load(before + ((<usize>i32x4.extract_lane(below, 3)) << 2));
    // Transpose: four samples around each place become the first, second … sample around all places.
    const pq02 = v128.shuffle<f32>(p, q, 0, 4, 2, 6);
    const pq13 = v128.shuffle<f32>(p, q, 1, 5, 3, 7);
    const rs02 = v128.shuffle<f32>(r, s, 0, 4, 2, 6);
    const rs13 = v128.shuffle<f32>(r, s, 1, 5, 3, 7);
    const a = v128.shuffle<f64>(pq02, rs02, 0, 2);
    const b = v128.shuffle<f64>(pq13, rs13, 0, 2);
    const c = v128.shuffle<f64>(pq02, rs02, 1, 3);
    const e = v128.shuffle<f64>(pq13, rs13, 1, 3);
    // b + d · (c - a/3 - b/2 - e/6 + d · ((a + c)/2 - b + d · ((b - c)/2 + (e - a)/6)))
    let y = f32x4.add(f32x4.mul(half, f32x4.sub(b, c)), f32x4.mul(sixth, f32x4.sub(e, a)));
    y = f32x4.add(f32x4.sub(f32x4.mul(half, f32x4.add(a, c)), b), f32x4.mul(d, y));
    const linear = f32x4.sub(
      f32x4.sub(c, f32x4.mul(third, a)),
      f32x4.add(f32x4.mul(half, b), f32x4.mul(sixth, e)),
    );
    y = f32x4.add(b, f32x4.mul(d, f32x4.add(linear, f32x4.mul(d, y))));
    v128.store(out + (i << 2), y);
    place = f32x4.add(place, four);
  }
}
