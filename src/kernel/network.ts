/** Layers of a network that runs along time: values of one channel stand side by side, frame by frame. */

/**
 * Spreads `count` places of four frames each over rows of single frames: lane l of place j goes to row j, frame
 * at + 2 l, and to the frame after it when `twice` is 1.
 * @param stride bytes from row to row
 */
export function spread(values: usize, count: usize, rows: usize, stride: usize, twice: i32): void {
  for (let j: usize = 0; j < count; j++) {
    const x = v128.load(values + (j << 4));
    const row = rows + j * stride;
    store<f32>(row, f32x4.extract_lane(x, 0));
    store<f32>(row, f32x4.extract_lane(x, 1), 8);
    store<f32>(row, f32x4.extract_lane(x, 2), 16);
    store<f32>(row, f32x4.extract_lane(x, 3), 24);
    if (twice) {
      store<f32>(row, f32x4.extract_lane(x, 0), 4);
      store<f32>(row, f32x4.extract_lane(x, 1), 12);
      store<f32>(row, f32x4.extract_lane(x, 2), 20);
      store<f32>(row, f32x4.extract_lane(x, 3), 28);
    }
  }
}

/**
 * Of `count` (a multiple of 4) frames: the mean over all rows, and `gain` times the mean growth since the frame before,
 * where it grew. The frame before the first is read, too.
 */
export function growth(
  rows: usize,
  number: usize,
  stride: usize,
  count: usize,
  gain: f32,
  level: usize,
  growing: usize,
): void {
  const share = f32x4.splat(<f32>1 / <f32>number);
  const gained = f32x4.splat(gain / <f32>number);
  const zero = f32x4.splat(0);
  for (let t: usize = 0; t < count << 2; t += 16) {
    let sum = zero;
    let grown = zero;
    let at = rows + t;
    for (let j: usize = 0; j < number; j++, at += stride) {
      const x = v128.load(at);
      sum = f32x4.add(sum, x);
      grown = f32x4.add(grown, f32x4.pmax(zero, f32x4.sub(x, v128.load(at - 4))));
    }
    v128.store(level + t, f32x4.mul(sum, share));
    v128.store(growing + t, f32x4.mul(grown, gained));
  }
}

/**
 * A layer that sees one frame at a time: out = bias + Σ weight · input, for `outputs` (a multiple of 2) channels and
 * `count` (a multiple of 16) frames; negative values become 0 unless `linear`, and what is there is kept and added to
 * where `residual`.
 * @param inputs byte offset of each input channel's first frame
 * @param weights of the first output, then the second …
 * @param stride bytes between output channels
 */
export function dense(
  inputs: usize,
  number: usize,
  weights: usize,
  bias: usize,
  outputs: usize,
  count: usize,
  out: usize,
  stride: usize,
  linear: i32,
  residual: i32,
): void {
  const zero = f32x4.splat(0);
  const row = number << 2;
  for (let c: usize = 0; c < outputs; c += 2) {
    const first = weights + c * row;
    const bias0 = v128.load32_splat(bias + (c << 2));
    const bias1 = v128.load32_splat(bias + (c << 2), 4);
    for (let t: usize = 0; t < count << 2; t += 64) {
      let a0 = bias0;
      let a1 = bias0;
      let a2 = bias0;
      let a3 = bias0;
      let b0 = bias1;
      let b1 = bias1;
      let b2 = bias1;
      let b3 = bias1;
      for (let k: usize = 0; k < row; k += 4) {
        const x = <usize>load<u32>(inputs + k) + t;
        const wa = v128.load32_splat(first + k);
        const wb = v128.load32_splat(first + row + k);
        const x0 = v128.load(x);
        const x1 = v128.load(x, 16);
        const x2 = v128.load(x, 32);
        const x3 = v128.load(x, 48);
        a0 = f32x4.add(a0, f32x4.mul(wa, x0));
        a1 = f32x4.add(a1, f32x4.mul(wa, x1));
        a2 = f32x4.add(a2, f32x4.mul(wa, x2));
        a3 = f32x4.add(a3, f32x4.mul(wa, x3));
        b0 = f32x4.add(b0, f32x4.mul(wb, x0));
        b1 = f32x4.add(b1, f32x4.mul(wb, x1));
        b2 = f32x4.add(b2, f32x4.mul(wb, x2));
        b3 = f32x4.add(b3, f32x4.mul(wb, x3));
      }
      if (!linear) {
        a0 = f32x4.pmax(zero, a0);
        a1 = f32x4.pmax(zero, a1);
        a2 = f32x4.pmax(zero, a2);
        a3 = f32x4.pmax(zero, a3);
        b0 = f32x4.pmax(zero, b0);
        b1 = f32x4.pmax(zero, b1);
        b2 = f32x4.pmax(zero, b2);
        b3 = f32x4.pmax(zero, b3);
      }
      const p = out + c * stride + t;
      const q = p + stride;
      if (residual) {
        a0 = f32x4.add(a0, v128.load(p));
        a1 = f32x4.add(a1, v128.load(p, 16));
        a2 = f32x4.add(a2, v128.load(p, 32));
        a3 = f32x4.add(a3, v128.load(p, 48));
        b0 = f32x4.add(b0, v128.load(q));
        b1 = f32x4.add(b1, v128.load(q, 16));
        b2 = f32x4.add(b2, v128.load(q, 32));
        b3 = f32x4.add(b3, v128.load(q, 48));
      }
      v128.store(p, a0);
      v128.store(p, a1, 16);
      v128.store(p, a2, 32);
      v128.store(p, a3, 48);
      v128.store(q, b0);
      v128.store(q, b1, 16);
      v128.store(q, b2, 32);
      v128.store(q, b3, 48);
    }
  }
}

/**
 * A layer that sees each channel by itself, nine frames of it, `dilation` frames apart, around each of `count` (a multiple
 * of 8) frames; those before the first and after the last are read, too.
 * @param stride bytes between channels, of input and output
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
  for (let c: usize = 0; c < channels; c++, input += stride, out += stride, weights += 36) {
    for (let t: usize = 0; t < count << 2; t += 32) {
      let x = input + t - (step << 2);
      let a = f32x4.splat(0);
      let b = a;
      for (let k: usize = 0; k < 36; k += 4, x += step) {
        const w = v128.load32_splat(weights + k);
        a = f32x4.add(a, f32x4.mul(w, v128.load(x)));
        b = f32x4.add(b, f32x4.mul(w, v128.load(x, 16)));
      }
      v128.store(out + t, a);
      v128.store(out + t, b, 16);
    }
  }
}

/** Log odds of `count` (a multiple of 4) frames, from -4 to 4, as 0 to 1. */
export function tell(logOdds: usize, count: usize, out: usize): void {
  const half = f32x4.splat(0.5);
  const eighth = f32x4.splat(0.125);
  const zero = f32x4.splat(0);
  const one = f32x4.splat(1);
  for (let t: usize = 0; t < count << 2; t += 16) {
    const share = f32x4.add(half, f32x4.mul(eighth, v128.load(logOdds + t)));
    v128.store(out + t, f32x4.pmax(zero, f32x4.pmin(one, share)));
  }
}
