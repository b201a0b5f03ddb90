/** Number of random shuffles; they are the same every time. */
const ROUNDS = 2000;
/** A difference counts if chance alone makes one that large less often than this. */
const BELIEVED = 0.05;

/**
 * How far apart the means of two groups would be by chance alone, and whether they are further apart than that: a permutation test
 * (Fisher, 1935; Pitman, J. R. Stat. Soc. Suppl. 4, 119-130, 1937) with random shufflings of fixed seed.
 */
export interface ByChance {
  /** 95 % of shufflings leave the means no further apart than this. */
  readonly upTo: number;
  readonly clear: boolean;
}

/** @param before values of one group, `now` of the other; at least one each */
export function byChance(before: readonly number[], now: readonly number[]): ByChance {
  const all = [...before, ...now];
  const sum = all.reduce((total, value) => total + value, 0);
  const differenceOf = (sumBefore: number): number =>
    Math.abs((sum - sumBefore) / now.length - sumBefore / before.length);
  const seen = differenceOf(before.reduce((total, value) => total + value, 0));
  const random = randomOf(all.length);
  const differences = Array.from({ length: ROUNDS }, () => {
    // The first values of a partial shuffle (Fisher and Yates) form a random group.
    let sumBefore = 0;
    for (let i = 0; i < before.length; i++) {
      const k = i + Math.floor(random() * (all.length - i));
      [all[i], all[k]] = [all[k], all[i]];
      sumBefore += all[i];
    }
    return differenceOf(sumBefore);
  }).sort((a, b) => a - b);
  const asFar = differences.filter((difference) => difference >= seen - 1e-12).length;
  return {
    upTo: differences[Math.ceil((1 - BELIEVED) * ROUNDS) - 1],
    clear: seen > 0 && asFar <= BELIEVED * ROUNDS,
  };
}

/**
 * The same for measured values, whose scatter tells how sure their means are: Welch's test (Biometrika 34, 28-35, 1947).
 * With fewer than two values on one side nothing can be said.
 */
export function byScatter(before: readonly number[], now: readonly number[]): ByChance {
  if (before.length < 2 || now.length < 2) return { upTo: Number.POSITIVE_INFINITY, clear: false };
  const [was, is] = [momentsOf(before), momentsOf(now)];
  const [a, b] = [was.variance / before.length, is.variance / now.length];
  const degrees = (a + b) ** 2 / (a ** 2 / (before.length - 1) + b ** 2 / (now.length - 1));
  const upTo = studentT(Number.isFinite(degrees) ? degrees : 1) * Math.sqrt(a + b);
  return { upTo, clear: Math.abs(is.mean - was.mean) > upTo };
}

/** 97.5 % point of Student's t by degrees of freedom, 1 to 10; beyond, the value for 12 or the normal one (tables). */
const STUDENT_T = [12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228] as const;
const STUDENT_T_MANY = 2.179;
const NORMAL = 1.96;

/** Two-sided 95 % point of Student's t. @param degrees of freedom, 1 or more; rounded down */
export function studentT(degrees: number): number {
  return STUDENT_T[Math.max(1, Math.floor(degrees)) - 1] ?? (degrees < 30 ? STUDENT_T_MANY : NORMAL);
}

function momentsOf(values: readonly number[]): { mean: number; variance: number } {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  const variance = values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1);
  return { mean, variance };
}

/** Uniform in [0, 1): a linear congruential generator (Lehmer; constants of Park and Miller, CACM 31, 1988). */
function randomOf(seed: number): () => number {
  let state = 1 + ((seed * 7919) % 2_147_483_646);
  return () => {
    state = (state * 48_271) % 2_147_483_647;
    return (state - 1) / 2_147_483_646;
  };
}
