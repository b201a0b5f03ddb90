/** The harmonic comb over four spectra at once; `src/analysis/pitch/salience.ts` explains it. */

const VECTOR: usize = 16;

/**
 * The bits of 1, the difference between the bits of 1 and sqrt(1/2), the fraction of a float, the bits of sqrt(1/2), and of 1/2;
 * then the polynomial. They are in memory, because the engine would rebuild vector constants in each turn of a loop.
 */
const BITS = memory.data<u32>([0x3f800000, 0x3f800000 - 0x3f3504f3, 0x007fffff, 0x3f3504f3, 0x3f000000], 16);
const COEFFICIENTS = memory.data<f32>(
  [
    7.0376836292e-2, -1.151461031e-1, 1.167699874e-1, -1.2420140846e-1, 1.4249322787e-1, -1.6668057665e-1,
    2.0000714765e-1, -2.4999993993e-1, 3.3333331174e-1,
  ],
  16,
);

/**
 * ln(1 + inverse · sqrt(power)) of bins [from, to). The logarithm: x = 2^e · m with m in [sqrt(1/2), sqrt(2)), and ln(m) by
 * the polynomial of the Cephes library's `logf` (Moshier, Methods and Programs for Mathematical Functions, 1989), in
 * Estrin's scheme.
 */
export function compress(power: usize, inverse: f32, from: usize, to: usize, out: usize): void {
  const scale = f32x4.splat(inverse);
  const one = v128.load32_splat(BITS);
  const shift = v128.load32_splat(BITS, 4);
  const fraction = v128.load32_splat(BITS, 8);
  const rootHalf = v128.load32_splat(BITS, 12);
  const half = v128.load32_splat(BITS, 16);
  const c0 = v128.load32_splat(COEFFICIENTS);
  const c1 = v128.load32_splat(COEFFICIENTS, 4);
  const c2 = v128.load32_splat(COEFFICIENTS, 8);
  const c3 = v128.load32_splat(COEFFICIENTS, 12);
  const c4 = v128.load32_splat(COEFFICIENTS, 16);
  const c5 = v128.load32_splat(COEFFICIENTS, 20);
  const c6 = v128.load32_splat(COEFFICIENTS, 24);
  const c7 = v128.load32_splat(COEFFICIENTS, 28);
  const c8 = v128.load32_splat(COEFFICIENTS, 32);
  const ln2 = f32x4.splat(Mathf.LN2);
  for (let k = from; k < to; k++) {
    const x = f32x4.add(one, f32x4.mul(scale, f32x4.sqrt(v128.load(power + k * VECTOR))));
    // Adding that difference carries into the exponent exactly if m would be sqrt(2) or more.
    const shifted = i32x4.add(x, shift);
    const exponent = f32x4.convert_i32x4_s(i32x4.sub(i32x4.shr_u(shifted, 23), i32x4.shr_u(one, 23)));
    const f = f32x4.sub(i32x4.add(v128.and(shifted, fraction), rootHalf), one);
    const f2 = f32x4.mul(f, f);
    const f4 = f32x4.mul(f2, f2);
    const c87 = f32x4.add(c8, f32x4.mul(c7, f));
    const c65 = f32x4.add(c6, f32x4.mul(c5, f));
    const c43 = f32x4.add(c4, f32x4.mul(c3, f));
    const c21 = f32x4.add(c2, f32x4.mul(c1, f));
    const low = f32x4.add(c87, f32x4.mul(f2, c65));
    const high = f32x4.add(f32x4.add(c43, f32x4.mul(f2, c21)), f32x4.mul(f4, c0));
    const y = f32x4.add(low, f32x4.mul(f4, high));
    const ln = f32x4.add(f, f32x4.mul(f2, f32x4.sub(f32x4.mul(y, f), half)));
    v128.store(out + k * VECTOR, f32x4.add(ln, f32x4.mul(exponent, ln2)));
  }
}

/**
 * Interpolates a spectrum at `count` places between its bins.
 * @param places  for each: byte offset of the bin before it, then the weights of that bin and the next three
 */
export function interpolate(spectrum: usize, places: usize, count: usize, out: usize): void {
  for (let i: usize = 0; i < count; i++, places += 20) {
    const y = spectrum + <usize>load<u32>(places);
    v128.store(
      out + i * VECTOR,
      f32x4.add(
        f32x4.add(
          f32x4.mul(v128.load(y), v128.load32_splat(places, 4)),
          f32x4.mul(v128.load(y, 16), v128.load32_splat(places, 8)),
        ),
        f32x4.add(
          f32x4.mul(v128.load(y, 32), v128.load32_splat(places, 12)),
          f32x4.mul(v128.load(y, 48), v128.load32_splat(places, 16)),
        ),
      ),
    );
  }
}

/**
 * out[i] = scale[i] · Σ weight · spectrum[i + shift], for `count` (a multiple of 4) steps.
 * @param teeth  for each: byte offset of the shift, and its weight
 */
export function comb(
  spectrum: usize,
  teeth: usize,
  number: usize,
  scale: usize,
  count: usize,
  out: usize,
): void {
  const last = teeth + (number << 3);
  for (let i: usize = 0; i < count; i += 4) {
    const from = spectrum + i * VECTOR;
    let a = f32x4.splat(0);
    let b = a;
    let c = a;
    let d = a;
    for (let tooth = teeth; tooth < last; tooth += 8) {
      const at = from + <usize>load<u32>(tooth);
      const weight = v128.load32_splat(tooth, 4);
      a = f32x4.add(a, f32x4.mul(weight, v128.load(at)));
      b = f32x4.add(b, f32x4.mul(weight, v128.load(at, 16)));
      c = f32x4.add(c, f32x4.mul(weight, v128.load(at, 32)));
      d = f32x4.add(d, f32x4.mul(weight, v128.load(at, 48)));
    }
    const to = out + i * VECTOR;
    const s = scale + (i << 2);
    v128.store(to, f32x4.mul(a, v128.load32_splat(s)));
    v128.store(to, f32x4.mul(b, v128.load32_splat(s, 4)), 16);
    v128.store(to, f32x4.mul(c, v128.load32_splat(s, 8)), 32);
    v128.store(to, f32x4.mul(d, v128.load32_splat(s, 12)), 48);
  }
}

/**
 * Keeps the strongest local maxima above `least` among steps 1 … count - 2 of each lane, refined by a parabola through three
 * steps: strongest first, `most` per lane, with strength 0 if there are fewer.
 * @param out  for each lane: `most` strengths, then `most` real-valued steps
 */
export function peaks(strength: usize, count: usize, least: f32, most: usize, out: usize): void {
  memory.fill(out, 0, most << 5);
  const floor = f32x4.splat(least);
  const last = count - 2;
  let here = v128.load(strength, 16);
  // No step is a maximum if the one before it is higher; of equal ones the last is.
  let falls = f32x4.gt(v128.load(strength), here);
  for (let step: usize = 1; step <= last; step += 2) {
    const from = strength + step * VECTOR;
    const next = v128.load(from, 16);
    const after = v128.load(from, 32);
    const fallsHere = f32x4.gt(here, next);
    const fallsNext = f32x4.gt(next, after);
    const isPeak = v128.and(v128.andnot(fallsHere, falls), f32x4.gt(here, floor));
    const isNextPeak = v128.and(v128.andnot(fallsNext, fallsHere), f32x4.gt(next, floor));
    if (v128.any_true(v128.or(isPeak, isNextPeak))) {
      keepPeaks(i32x4.bitmask(isPeak), from, step, out, most);
      if (step < last) keepPeaks(i32x4.bitmask(isNextPeak), from + VECTOR, step + 1, out, most);
    }
    falls = fallsNext;
    here = after;
  }
}

/** Keeps the peaks at one step of the lanes in a mask. */
function keepPeaks(mask: i32, from: usize, step: usize, out: usize, most: usize): void {
  while (mask !== 0) {
    const lane = <usize>ctz(mask);
    mask &= mask - 1;
    const at = from + (lane << 2);
    const list = out + lane * (most << 3);
    keep(load<f32>(at - VECTOR), load<f32>(at), load<f32>(at, VECTOR), <f32>step, list, most);
  }
}

function keep(left: f32, here: f32, right: f32, step: f32, list: usize, most: usize): void {
  let slot = most - 1;
  if (here <= load<f32>(list + (slot << 2))) return;
  const places = list + (most << 2);
  while (slot > 0) {
    const before = load<f32>(list + ((slot - 1) << 2));
    if (before >= here) break;
    store<f32>(list + (slot << 2), before);
    store<f32>(places + (slot << 2), load<f32>(places + ((slot - 1) << 2)));
    slot--;
  }
  store<f32>(list + (slot << 2), here);
  store<f32>(places + (slot << 2), step + (0.5 * (left - right)) / (left - 2 * here + right));
}
