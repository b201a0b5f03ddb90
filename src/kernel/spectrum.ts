/**
 * Spectra of four stretches at once: each of a vector's four lanes belongs to one stretch, so every line below is ordinary
 * scalar mathematics, done four times.
 */

/** Bytes of a vector of four floats, and of a complex one (real parts, then imaginary parts). */
const VECTOR: usize = 16;
const COMPLEX: usize = 32;

/** The first two of a point's floats in two stretches. */
function two(a: usize, b: usize): v128 {
  return v128.load64_lane(b, v128.load64_zero(a), 1);
}

/** The real parts of a point in four stretches, times the window. */
function real(ab: v128, cd: v128, window: usize): v128 {
  return f32x4.mul(v128.shuffle<f32>(ab, cd, 0, 2, 4, 6), v128.load32_splat(window));
}

/** The imaginary parts. */
function imaginary(ab: v128, cd: v128, window: usize): v128 {
  return f32x4.mul(v128.shuffle<f32>(ab, cd, 1, 3, 5, 7), v128.load32_splat(window, 4));
}

/**
 * Complex transform by decimation in time, radix 4 after one stage of radix 2 if the size requires it (Cooley and Tukey, Math.
 * Comput. 19, 297-301, 1965), of four stretches of one signal, windowed: samples 2i and 2i+1 are the real and the imaginary part
 * of point i. Taking them in and the first stage are one pass.
 * @param signal  floats; stretch `l` begins at byte `at_l` of it and has `length` (a multiple of 4) samples
 * @param order  byte offset at which the first stage puts what it makes of each of the first quarter (of radix 2: half) of the points
 * @param points  complex points, twice as many samples; zero beyond the stretch
 * @param twiddles  for each stage of radix 4 after the first, and each k: w^k, w^2k, w^3k as pairs of floats
 */
export function transform(
  signal: usize,
  at0: usize,
  at1: usize,
  at2: usize,
  at3: usize,
  length: usize,
  window: usize,
  order: usize,
  points: usize,
  data: usize,
  twiddles: usize,
): void {
  const s0 = signal + at0;
  const s1 = signal + at1;
  const s2 = signal + at2;
  const s3 = signal + at3;
  const bytes = length << 2;
  const end = data + points * COMPLEX;
  const zero = f32x4.splat(0);
  let quarter: usize = COMPLEX;
  if (ctz(points) & 1) {
    const apart = points << 2;
    for (let a: usize = 0; a < apart; a += 8) {
      let ar = zero;
      let ai = zero;
      if (a < bytes) {
        const low = two(s0 + a, s1 + a);
        const high = two(s2 + a, s3 + a);
        ar = real(low, high, window + a);
        ai = imaginary(low, high, window + a);
      }
      let br = zero;
      let bi = zero;
      const b = a + apart;
      if (b < bytes) {
        const low = two(s0 + b, s1 + b);
        const high = two(s2 + b, s3 + b);
        br = real(low, high, window + b);
        bi = imaginary(low, high, window + b);
      }
      const p = data + <usize>load<u32>(order + (a >> 1));
      v128.store(p, f32x4.add(ar, br));
      v128.store(p, f32x4.add(ai, bi), 16);
      v128.store(p, f32x4.sub(ar, br), 32);
      v128.store(p, f32x4.sub(ai, bi), 48);
    }
    quarter = 2 * COMPLEX;
  } else {
    const apart = points << 1;
    for (let a: usize = 0; a < apart; a += 8) {
      let ar = zero;
      let ai = zero;
      if (a < bytes) {
        const low = two(s0 + a, s1 + a);
        const high = two(s2 + a, s3 + a);
        ar = real(low, high, window + a);
        ai = imaginary(low, high, window + a);
      }
      let cr = zero;
      let ci = zero;
      const c = a + 2 * apart;
      if (c < bytes) {
        const low = two(s0 + c, s1 + c);
        const high = two(s2 + c, s3 + c);
        cr = real(low, high, window + c);
        ci = imaginary(low, high, window + c);
      }
      const t0r = f32x4.add(ar, cr);
      const t0i = f32x4.add(ai, ci);
      const t1r = f32x4.sub(ar, cr);
      const t1i = f32x4.sub(ai, ci);
      let br = zero;
      let bi = zero;
      const b = a + apart;
      if (b < bytes) {
        const low = two(s0 + b, s1 + b);
        const high = two(s2 + b, s3 + b);
        br = real(low, high, window + b);
        bi = imaginary(low, high, window + b);
      }
      let dr = zero;
      let di = zero;
      const d = c + apart;
      if (d < bytes) {
        const low = two(s0 + d, s1 + d);
        const high = two(s2 + d, s3 + d);
        dr = real(low, high, window + d);
        di = imaginary(low, high, window + d);
      }
      const t2r = f32x4.add(br, dr);
      const t2i = f32x4.add(bi, di);
      const t3r = f32x4.sub(br, dr);
      const t3i = f32x4.sub(bi, di);
      const p = data + <usize>load<u32>(order + (a >> 1));
      v128.store(p, f32x4.add(t0r, t2r));
      v128.store(p, f32x4.add(t0i, t2i), 16);
      v128.store(p, f32x4.add(t1r, t3i), 32);
      v128.store(p, f32x4.sub(t1i, t3r), 48);
      v128.store(p, f32x4.sub(t0r, t2r), 64);
      v128.store(p, f32x4.sub(t0i, t2i), 80);
      v128.store(p, f32x4.sub(t1r, t3i), 96);
      v128.store(p, f32x4.add(t1i, t3r), 112);
    }
    quarter = 4 * COMPLEX;
  }
  let w = twiddles;
  for (; quarter << 2 <= points * COMPLEX; quarter <<= 2) {
    const block = quarter << 2;
    for (let k: usize = 0; k < quarter; k += COMPLEX, w += 24) {
      const w1r = v128.load32_splat(w);
      const w1i = v128.load32_splat(w, 4);
      const w2r = v128.load32_splat(w, 8);
      const w2i = v128.load32_splat(w, 12);
      const w3r = v128.load32_splat(w, 16);
      const w3i = v128.load32_splat(w, 20);
      for (let p = data + k; p < end; p += block) {
        const pb = p + quarter;
        const pc = pb + quarter;
        const pd = pc + quarter;
        let xr = v128.load(pb);
        let xi = v128.load(pb, 16);
        const br = f32x4.sub(f32x4.mul(xr, w1r), f32x4.mul(xi, w1i));
        const bi = f32x4.add(f32x4.mul(xr, w1i), f32x4.mul(xi, w1r));
        xr = v128.load(pd);
        xi = v128.load(pd, 16);
        const dr = f32x4.sub(f32x4.mul(xr, w3r), f32x4.mul(xi, w3i));
        const di = f32x4.add(f32x4.mul(xr, w3i), f32x4.mul(xi, w3r));
        const t2r = f32x4.add(br, dr);
        const t2i = f32x4.add(bi, di);
        const t3r = f32x4.sub(br, dr);
        const t3i = f32x4.sub(bi, di);
        xr = v128.load(pc);
        xi = v128.load(pc, 16);
        const cr = f32x4.sub(f32x4.mul(xr, w2r), f32x4.mul(xi, w2i));
        const ci = f32x4.add(f32x4.mul(xr, w2i), f32x4.mul(xi, w2r));
        const ar = v128.load(p);
        const ai = v128.load(p, 16);
        const t0r = f32x4.add(ar, cr);
        const t0i = f32x4.add(ai, ci);
        const t1r = f32x4.sub(ar, cr);
        const t1i = f32x4.sub(ai, ci);
        v128.store(p, f32x4.add(t0r, t2r));
        v128.store(p, f32x4.add(t0i, t2i), 16);
        v128.store(pb, f32x4.add(t1r, t3i));
        v128.store(pb, f32x4.sub(t1i, t3r), 16);
        v128.store(pc, f32x4.sub(t0r, t2r));
        v128.store(pc, f32x4.sub(t0i, t2i), 16);
        v128.store(pd, f32x4.sub(t1r, t3i));
        v128.store(pd, f32x4.add(t1i, t3r), 16);
      }
    }
  }
}

/**
 * Spectrum of the real stretches, and its power, from the transform of their even and odd samples (Press et al., Numerical
 * Recipes, 12.3): bins 1 … to - 1.
 * @param turns  cosine and sine of 2πk / (2 · points) for each bin k
 */
export function unpack(
  data: usize,
  points: usize,
  turns: usize,
  to: usize,
  complex: usize,
  power: usize,
): void {
  const half = f32x4.splat(0.5);
  for (let k: usize = 1; k < to; k++) {
    const p = data + k * COMPLEX;
    const q = data + (points - k) * COMPLEX;
    const zr = v128.load(p);
    const zi = v128.load(p, 16);
    const yr = v128.load(q);
    const yi = v128.load(q, 16);
    const c = v128.load32_splat(turns + (k << 3));
    const s = v128.load32_splat(turns + (k << 3), 4);
    const evenR = f32x4.add(zr, yr);
    const evenI = f32x4.sub(zi, yi);
    const oddR = f32x4.add(zi, yi);
    const oddI = f32x4.sub(yr, zr);
    const re = f32x4.mul(half, f32x4.add(evenR, f32x4.add(f32x4.mul(oddR, c), f32x4.mul(oddI, s))));
    const im = f32x4.mul(half, f32x4.add(evenI, f32x4.sub(f32x4.mul(oddI, c), f32x4.mul(oddR, s))));
    v128.store(complex + k * COMPLEX, re);
    v128.store(complex + k * COMPLEX, im, 16);
    v128.store(power + k * VECTOR, f32x4.add(f32x4.mul(re, re), f32x4.mul(im, im)));
  }
}

/** Powers of bins [from, to), within 1 … points - 1, in the format of `unpack`. */
export function power(data: usize, points: usize, turns: usize, from: usize, to: usize, out: usize): void {
  const quarter = f32x4.splat(0.25);
  for (let k = from; k < to; k++) {
    const p = data + k * COMPLEX;
    const q = data + (points - k) * COMPLEX;
    const zr = v128.load(p);
    const zi = v128.load(p, 16);
    const yr = v128.load(q);
    const yi = v128.load(q, 16);
    const c = v128.load32_splat(turns + (k << 3));
    const s = v128.load32_splat(turns + (k << 3), 4);
    const evenR = f32x4.add(zr, yr);
    const evenI = f32x4.sub(zi, yi);
    const oddR = f32x4.add(zi, yi);
    const oddI = f32x4.sub(yr, zr);
    const re = f32x4.add(evenR, f32x4.add(f32x4.mul(oddR, c), f32x4.mul(oddI, s)));
    const im = f32x4.add(evenI, f32x4.sub(f32x4.mul(oddI, c), f32x4.mul(oddR, s)));
    v128.store(out + k * VECTOR, f32x4.mul(quarter, f32x4.add(f32x4.mul(re, re), f32x4.mul(im, im))));
  }
}

/** Sum of values [from, to), lane by lane. */
export function sum(values: usize, from: usize, to: usize, out: usize): void {
  let total = f32x4.splat(0);
  for (let k = from; k < to; k++) total = f32x4.add(total, v128.load(values + k * VECTOR));
  v128.store(out, total);
}
