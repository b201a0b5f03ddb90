/**
 * Layers of a network that runs along time. Values are 16-bit fixed point with nine bits after the point (±64), so that the
 * processor multiplies eight at once; sums are 32-bit. Two channels share a row, frame by frame, the first in the lower half
 * of each four bytes. Where a layer adds to existing values, these are floats, with a row for each channel.
 */
const UNIT: f32 = 512;

/** Four frames of two channels, interleaved as fixed point. */
function pair(first: v128, second: v128): v128 {
  const unit = f32x4.splat(UNIT);
  const narrow = i16x8.narrow_i32x4_s(
    i32x4.trunc_sat_f32x4_s(f32x4.nearest(f32x4.mul(unit, first))),
    i32x4.trunc_sat_f32x4_s(f32x4.nearest(f32x4.mul(unit, second))),
  );
  return v128.shuffle<i16>(narrow, narrow, 0, 4, 1, 5, 2, 6, 3, 7);
}

/**
 * Spreads `count` places of four frames each over rows of single frames: lane l of place j goes to row j, frame
 * at + 2 l, and also to the frame after it if `twice` is 1.
 * @param rows  of the first channel; the second is two bytes further
 * @param stride  bytes from row to row
 */
export function spread(values: usize, count: usize, rows: usize, stride: usize, twice: i32): void {
  for (let j: usize = 0; j < count; j++) {
    const x = v128.load(values + (j << 4));
    const x16 = pair(x, x);
    const row = rows + j * stride;
    v128.store16_lane(row, x16, 0);
    v128.store16_lane(row, x16, 2, 8);
    v128.store16_lane(row, x16, 4, 16);
    v128.store16_lane(row, x16, 6, 24);
    if (twice) {
      v128.store16_lane(row, x16, 0, 4);
      v128.store16_lane(row, x16, 2, 12);
      v128.store16_lane(row, x16, 4, 20);
      v128.store16_lane(row, x16, 6, 28);
    }
  }
}

/**
 * For the second channel of `count` (a multiple of 4) frames: its mean over all rows, and `gain` times its mean growth since
 * the previous frame, counting only growth, as one row. The frame before the first is also read.
 */
export function growth(rows: usize, number: usize, stride: usize, count: usize, gain: f32, out: usize): void {
  const share = f32x4.splat(<f32>1 / (<f32>number * UNIT));
  const gained = f32x4.splat(gain / (<f32>number * UNIT));
  const zero = i32x4.splat(0);
  for (let t: usize = 0; t < count << 2; t += 16) {
    let sum = zero;
    let grown = zero;
    let at = rows + t;
    for (let j: usize = 0; j < number; j++, at += stride) {
      const x = i32x4.shr_s(v128.load(at), 16);
      sum = i32x4.add(sum, x);
      grown = i32x4.add(grown, i32x4.max_s(zero, i32x4.sub(x, i32x4.shr_s(v128.load(at - 4), 16))));
    }
    v128.store(
      out + t,
      pair(f32x4.mul(f32x4.convert_i32x4_s(sum), share), f32x4.mul(f32x4.convert_i32x4_s(grown), gained)),
    );
  }
}

/** The sum of eight frames of two channels. */
function eight(at: usize): v128 {
  const four = i16x8.add_sat_s(v128.load(at), v128.load(at, 16));
  const two = i16x8.add_sat_s(four, v128.shuffle<i64>(four, four, 1, 0));
  return i16x8.add_sat_s(two, v128.shuffle<i32>(two, two, 1, 0, 3, 2));
}

/**
 * Sums over eight frames of `number` rows of two channels: for each row one of the first halves of `count` blocks of 16 frames,
 * then one of their second halves. Sums of 64 and more become 64.
 */
export function gather(
  rows: usize,
  number: usize,
  stride: usize,
  count: usize,
  out: usize,
  outStride: usize,
): void {
  for (let j: usize = 0; j < number; j++, rows += stride, out += outStride << 1) {
    for (let b: usize = 0; b < count; b++) {
      const at = rows + (b << 6);
      const to = out + (b << 2);
      v128.store32_lane(to, eight(at), 0);
      v128.store32_lane(to + outStride, eight(at + 32), 0);
    }
  }
}

/**
 * A layer that sees one frame at a time: out = bias + scale · Σ weight · input, for `outputs` (a multiple of 4) channels
 * and `count` (a multiple of 8) frames; negative values become 0 unless `linear`.
 * @param inputs  byte offset of each pair of input channels' first frame
 * @param weights  16-bit: for each pair two of the first output, two of the second, third and fourth; then those of the
 * next four outputs; small enough that no sum overflows
 * @param scales  one per output
 * @param added  floats to add to the outputs, or 0
 * @param packed  whether two outputs share a row; otherwise they are floats
 * @param stride  bytes between rows
 */
export function dense(
  inputs: usize,
  pairs: usize,
  weights: usize,
  scales: usize,
  bias: usize,
  outputs: usize,
  count: usize,
  out: usize,
  added: usize,
  stride: usize,
  linear: i32,
  packed: i32,
): void {
  const none = i32x4.splat(0);
  const end = inputs + (pairs << 2);
  // Frames in the outer loop: all that a turn of it reads stays in the processor's first cache.
  for (let t: usize = 0; t < count << 2; t += 32) {
    for (let o: usize = 0; o < outputs; o += 4) {
      let w = weights + ((o * pairs) << 2);
      let a0 = none;
      let a1 = none;
      let b0 = none;
      let b1 = none;
      let c0 = none;
      let c1 = none;
      let d0 = none;
      let d1 = none;
      // Not unrolled: the engine would load everything first and run out of registers.
      for (let p = inputs; p < end; p += 4, w += 16) {
        const x = <usize>load<u32>(p) + t;
        const wa = v128.load32_splat(w);
        const wb = v128.load32_splat(w, 4);
        const wc = v128.load32_splat(w, 8);
        const wd = v128.load32_splat(w, 12);
        const x0 = v128.load(x);
        const x1 = v128.load(x, 16);
        a0 = i32x4.add(a0, i32x4.dot_i16x8_s(wa, x0));
        a1 = i32x4.add(a1, i32x4.dot_i16x8_s(wa, x1));
        b0 = i32x4.add(b0, i32x4.dot_i16x8_s(wb, x0));
        b1 = i32x4.add(b1, i32x4.dot_i16x8_s(wb, x1));
        c0 = i32x4.add(c0, i32x4.dot_i16x8_s(wc, x0));
        c1 = i32x4.add(c1, i32x4.dot_i16x8_s(wc, x1));
        d0 = i32x4.add(d0, i32x4.dot_i16x8_s(wd, x0));
        d1 = i32x4.add(d1, i32x4.dot_i16x8_s(wd, x1));
      }
      const floor = f32x4.splat(linear ? -Infinity : 0);
      const s = scales + (o << 2);
      const b = bias + (o << 2);
      const scaleA = v128.load32_splat(s);
      const biasA = v128.load32_splat(b);
      a0 = f32x4.pmax(floor, f32x4.add(biasA, f32x4.mul(scaleA, f32x4.convert_i32x4_s(a0))));
      a1 = f32x4.pmax(floor, f32x4.add(biasA, f32x4.mul(scaleA, f32x4.convert_i32x4_s(a1))));
      const scaleB = v128.load32_splat(s, 4);
      const biasB = v128.load32_splat(b, 4);
      b0 = f32x4.pmax(floor, f32x4.add(biasB, f32x4.mul(scaleB, f32x4.convert_i32x4_s(b0))));
      b1 = f32x4.pmax(floor, f32x4.add(biasB, f32x4.mul(scaleB, f32x4.convert_i32x4_s(b1))));
      const scaleC = v128.load32_splat(s, 8);
      const biasC = v128.load32_splat(b, 8);
      c0 = f32x4.pmax(floor, f32x4.add(biasC, f32x4.mul(scaleC, f32x4.convert_i32x4_s(c0))));
      c1 = f32x4.pmax(floor, f32x4.add(biasC, f32x4.mul(scaleC, f32x4.convert_i32x4_s(c1))));
      const scaleD = v128.load32_splat(s, 12);
      const biasD = v128.load32_splat(b, 12);
      d0 = f32x4.pmax(floor, f32x4.add(biasD, f32x4.mul(scaleD, f32x4.convert_i32x4_s(d0))));
      d1 = f32x4.pmax(floor, f32x4.add(biasD, f32x4.mul(scaleD, f32x4.convert_i32x4_s(d1))));
      if (added) {
        let from = added + o * stride + t;
        a0 = f32x4.add(a0, v128.load(from));
        a1 = f32x4.add(a1, v128.load(from, 16));
        from += stride;
        b0 = f32x4.add(b0, v128.load(from));
        b1 = f32x4.add(b1, v128.load(from, 16));
        from += stride;
        c0 = f32x4.add(c0, v128.load(from));
        c1 = f32x4.add(c1, v128.load(from, 16));
        from += stride;
        d0 = f32x4.add(d0, v128.load(from));
        d1 = f32x4.add(d1, v128.load(from, 16));
      }
      if (packed) {
        const to = out + (o >> 1) * stride + t;
        v128.store(to, pair(a0, b0));
        v128.store(to, pair(a1, b1), 16);
        v128.store(to + stride, pair(c0, d0));
        v128.store(to + stride, pair(c1, d1), 16);
      } else {
        let to = out + o * stride + t;
        v128.store(to, a0);
        v128.store(to, a1, 16);
        to += stride;
        v128.store(to, b0);
        v128.store(to, b1, 16);
        to += stride;
        v128.store(to, c0);
        v128.store(to, c1, 16);
        to += stride;
        v128.store(to, d0);
        v128.store(to, d1, 16);
      }
    }
  }
}

/**
 * A layer that sees each channel by itself: nine frames, `dilation` frames apart, around each of `count` (a multiple of 16)
 * frames. Frames before the first and after the last are also read.
 * @param input  floats
 * @param channels  a multiple of 2
 * @param out  two channels a row
 * @param stride  bytes between rows, of input and output
 */
export function depthwise(
  input: usize,
  channels: usize,
  weights: usize,
  dilation: usize,
  count: usize,
  out: usize,
  stride: usize,
): void {
  const step = dilation << 2;
  const zero = f32x4.splat(0);
  for (let c: usize = 0; c < channels; c += 2, input += stride << 1, out += stride, weights += 72) {
    for (let t: usize = 0; t < count << 2; t += 64) {
      let x = input + t - (step << 2);
      let a0 = zero;
      let a1 = zero;
      let a2 = zero;
      let a3 = zero;
      let b0 = zero;
      let b1 = zero;
      let b2 = zero;
      let b3 = zero;
      for (let w = weights; w < weights + 36; w += 4, x += step) {
        const tap = v128.load32_splat(w);
        a0 = f32x4.add(a0, f32x4.mul(tap, v128.load(x)));
        a1 = f32x4.add(a1, f32x4.mul(tap, v128.load(x, 16)));
        a2 = f32x4.add(a2, f32x4.mul(tap, v128.load(x, 32)));
        a3 = f32x4.add(a3, f32x4.mul(tap, v128.load(x, 48)));
      }
      x = input + stride + t - (step << 2);
      for (let w = weights + 36; w < weights + 72; w += 4, x += step) {
        const tap = v128.load32_splat(w);
        b0 = f32x4.add(b0, f32x4.mul(tap, v128.load(x)));
        b1 = f32x4.add(b1, f32x4.mul(tap, v128.load(x, 16)));
        b2 = f32x4.add(b2, f32x4.mul(tap, v128.load(x, 32)));
        b3 = f32x4.add(b3, f32x4.mul(tap, v128.load(x, 48)));
      }
      v128.store(out + t, pair(a0, b0));
      v128.store(out + t, pair(a1, b1), 16);
      v128.store(out + t, pair(a2, b2), 32);
      v128.store(out + t, pair(a3, b3), 48);
    }
  }
}

/** Log odds of two channels of `count` (a multiple of 4) frames, floats from -4 to 4, as one row from 0 to 1. */
export function tell(first: usize, second: usize, count: usize, out: usize): void {
  for (let t: usize = 0; t < count << 2; t += 16)
    v128.store(out + t, pair(share(v128.load(first + t)), share(v128.load(second + t))));
}

function share(logOdds: v128): v128 {
  const x = f32x4.add(f32x4.splat(0.5), f32x4.mul(f32x4.splat(0.125), logOdds));
  return f32x4.pmax(f32x4.splat(0), f32x4.pmin(f32x4.splat(1), x));
}
