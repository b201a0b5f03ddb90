/** The harmonic comb over four spectra at once; see `src/analysis/salience.ts` for what it is. */

const VECTOR: usize = 16;

/** ln(1 + inverse · sqrt(power)) of bins [from, to). */
export function compress(power: usize, inverse: f32, from: usize, to: usize, out: usize): void {
  const scale = f32x4.splat(inverse);
  const one = f32x4.splat(1);
  for (let k = from; k < to; k++) {
    const magnitude = f32x4.sqrt(v128.load(power + k * VECTOR));
    v128.store(out + k * VECTOR, log(f32x4.add(one, f32x4.mul(magnitude, scale))));
  }
}

/**
 * Natural logarithm of normal numbers of 1 or more: x = 2^e · m with m in [sqrt(1/2), sqrt(2)), and the polynomial
 * of the Cephes library's `logf` for ln(m) (Moshier, Methods and Programs for Mathematical Functions, 1989).
 */
function log(x: v128): v128 {
  const one = f32x4.splat(1);
  // Adding what parts sqrt(1/2) from 1 carries into the exponent exactly when m would be sqrt(2) or more.
  const shifted = i32x4.add(x, i32x4.splat(0x3f800000 - 0x3f3504f3));
  const exponent = f32x4.convert_i32x4_s(i32x4.sub(i32x4.shr_u(shifted, 23), i32x4.splat(127)));
  const m = i32x4.add(v128.and(shifted, i32x4.splat(0x007fffff)), i32x4.splat(0x3f3504f3));
  const f = f32x4.sub(m, one);
  const z = f32x4.mul(f, f);
  let y = f32x4.splat(7.0376836292e-2);
  y = f32x4.add(f32x4.mul(y, f), f32x4.splat(-1.151461031e-1));
  y = f32x4.add(f32x4.mul(y, f), f32x4.splat(1.167699874e-1));
  y = f32x4.add(f32x4.mul(y, f), f32x4.splat(-1.2420140846e-1));
  y = f32x4.add(f32x4.mul(y, f), f32x4.splat(1.4249322787e-1));
  y = f32x4.add(f32x4.mul(y, f), f32x4.splat(-1.6668057665e-1));
  y = f32x4.add(f32x4.mul(y, f), f32x4.splat(2.0000714765e-1));
  y = f32x4.add(f32x4.mul(y, f), f32x4.splat(-2.4999993993e-1));
  y = f32x4.add(f32x4.mul(y, f), f32x4.splat(3.3333331174e-1));
  y = f32x4.mul(f32x4.mul(y, f), z);
  y = f32x4.sub(y, f32x4.mul(z, f32x4.splat(0.5)));
  return f32x4.add(f32x4.add(f, y), f32x4.mul(exponent, f32x4.splat(Mathf.LN2)));
}

/**
 * Reads a spectrum at `count` places between its bins.
 * @param places for each: byte offset of the bin before, then the weights of that and the three next bins
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
 * @param teeth for each: byte offset of the shift, and its weight
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
 * Keeps the strongest local maxima above `least` among steps 1 … count - 2 of each lane, refined by a parabola
 * through three steps: strongest first, `most` places for each lane, strength 0 where there are no more.
 * @param out for each lane: `most` strengths, then `most` real-valued steps
 */
export function peaks(strength: usize, count: usize, least: f32, most: usize, out: usize): void {
  const row = most << 3;
  memory.fill(out, 0, row << 2);
  const floor = f32x4.splat(least);
  let left = v128.load(strength);
  let here = v128.load(strength, 16);
  for (let step: usize = 1; step < count - 1; step++) {
    const right = v128.load(strength + step * VECTOR, 16);
    const higher = v128.and(v128.and(f32x4.gt(here, floor), f32x4.ge(here, left)), f32x4.gt(here, right));
    let mask = i32x4.bitmask(higher);
    while (mask !== 0) {
      const lane = <usize>ctz(mask);
      mask &= mask - 1;
      const at = strength + step * VECTOR + (lane << 2);
      keep(load<f32>(at - VECTOR), load<f32>(at), load<f32>(at, VECTOR), <f32>step, out + lane * row, most);
    }
    left = here;
    here = right;
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
