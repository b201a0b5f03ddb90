/**
 * Spectra of four stretches at once: each of a vector's four lanes belongs to one stretch, so every line below is ordinary
 * scalar mathematics, done four times.
 */

/** Bytes of a vector of four floats, and of a complex one (real parts, then imaginary parts). */
const VECTOR: usize = 16;
const COMPLEX: usize = 32;

/**
 * Takes four stretches of one signal, windows them, and stores samples 2i and 2i+1 as real and imaginary part of point
 * `order[i]`, as the transform below wants them.
 * @param signal  floats; stretch `l` begins at byte `at_l` of it and has `length` (a multiple of 4) samples
 * @param order  byte offset of each point
 * @param points  complex points, twice as many samples; zero beyond the stretch
 */
export function deinterleave(
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
): void {
  const a = signal + at0;
  const b = signal + at1;
  const c = signal + at2;
  const d = signal + at3;
  const bytes = length << 2;
  let at: usize = 0;
  for (; at < bytes; at += 16) {
    const va = v128.load(a + at);
    const vb = v128.load(b + at);
    const vc = v128.load(c + at);
    const vd = v128.load(d + at);
    // Transpose: four samples of each stretch become four stretches of each sample.
    const ab02 = v128.shuffle<f32>(va, vb, 0, 4, 2, 6);
    const ab13 = v128.shuffle<f32>(va, vb, 1, 5, 3, 7);
    const cd02 = v128.shuffle<f32>(vc, vd, 0, 4, 2, 6);
    const cd13 = v128.shuffle<f32>(vc, vd, 1, 5, 3, 7);
    const s0 = v128.shuffle<f64>(ab02, cd02, 0, 2);
    const s1 = v128.shuffle<f64>(ab13, cd13, 0, 2);
    const s2 = v128.shuffle<f64>(ab02, cd02, 1, 3);
    const s3 = v128.shuffle<f64>(ab13, cd13, 1, 3);
    const first = data + <usize>load<u32>(order + (at >> 1));
    const second = data + <usize>load<u32>(order + (at >> 1) + 4);
    v128.store(first, f32x4.mul(s0, v128.load32_splat(window + at)));
    v128.store(first, f32x4.mul(s1, v128.load32_splat(window + at + 4)), VECTOR);
    v128.store(second, f32x4.mul(s2, v128.load32_splat(window + at + 8)));
    v128.store(second, f32x4.mul(s3, v128.load32_splat(window + at + 12)), VECTOR);
  }
  const zero = f32x4.splat(0);
  for (let i = at >> 3; i < points; i++) {
    const point = data + <usize>load<u32>(order + (i << 2));
    v128.store(point, zero);
    v128.store(point, zero, VECTOR);
  }
}

/**
 * Complex transform in place by decimation in time, radix 4 after one stage of radix 2 if the size requires it (Cooley and
 * Tukey, Math. Comput. 19, 297-301, 1965).
 * @param twiddles  for each stage of radix 4 after the first, and each k: w^k, w^2k, w^3k as pairs of floats
 */
export function transform(data: usize, points: usize, twiddles: usize): void {
  const end = data + points * COMPLEX;
  let quarter: usize = COMPLEX;
  if (ctz(points) & 1) {
    for (let p = data; p < end; p += 2 * COMPLEX) {
      const ar = v128.load(p);
      const ai = v128.load(p, 16);
      const br = v128.load(p, 32);
      const bi = v128.load(p, 48);
      v128.store(p, f32x4.add(ar, br));
      v128.store(p, f32x4.add(ai, bi), 16);
      v128.store(p, f32x4.sub(ar, br), 32);
      v128.store(p, f32x4.sub(ai, bi), 48);
    }
    quarter = 2 * COMPLEX;
  } else {
    for (let p = data; p < end; p += 4 * COMPLEX) {
      const ar = v128.load(p);
      const ai = v128.load(p, 16);
      const br = v128.load(p, 32);
      const bi = v128.load(p, 48);
      const cr = v128.load(p, 64);
      const ci = v128.load(p, 80);
      const dr = v128.load(p, 96);
      const di = v128.load(p, 112);
      const t0r = f32x4.add(ar, cr);
      const t0i = f32x4.add(ai, ci);
      const t1r = f32x4.sub(ar, cr);
      const t1i = f32x4.sub(ai, ci);
      const t2r = f32x4.add(br, dr);
      const t2i = f32x4.add(bi, di);
      const t3r = f32x4.sub(br, dr);
      const t3i = f32x4.sub(bi, di);
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
