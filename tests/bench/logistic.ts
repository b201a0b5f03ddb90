/** One example: features and whether it is of the kind looked for. */
export interface Example {
  readonly features: readonly number[];
  readonly positive: boolean;
  readonly weight: number;
}

/**
 * Logistic regression by Newton's method (iteratively reweighted least squares), with a ridge on the weights that the
 * features have when each is scaled to unit variance.
 * @returns a weight for each feature, and the bias last
 */
export function fitLogistic(examples: readonly Example[], ridge = 0.5): number[] {
  const size = examples[0].features.length + 1;
  const variances = featureVariances(examples);
  let weights = new Array<number>(size).fill(0);
  for (let round = 0; round < 40; round++) {
    const gradient = weights.map((weight, i) => -ridge * variances[i] * weight);
    const hessian = weights.map((_, i) => weights.map((__, j) => (i === j ? ridge * variances[i] : 0)));
    for (const { features, positive, weight } of examples) {
      const x = [...features, 1];
      const p = 1 / (1 + Math.exp(-dot(x, weights)));
      const pull = weight * ((positive ? 1 : 0) - p);
      const curve = weight * Math.max(1e-6, p * (1 - p));
      for (let i = 0; i < size; i++) {
        gradient[i] += pull * x[i];
        for (let j = 0; j < size; j++) hessian[i][j] += curve * x[i] * x[j];
      }
    }
    const step = solve(hessian, gradient);
    weights = weights.map((value, i) => value + step[i]);
    if (Math.max(...step.map(Math.abs)) < 1e-6) break;
  }
  return weights;
}

/** Of each feature, and of the bias a trifle, so that it is hardly held back. */
function featureVariances(examples: readonly Example[]): number[] {
  const variances = examples[0].features.map((_, i) => {
    const mean = examples.reduce((sum, { features }) => sum + features[i], 0) / examples.length;
    return examples.reduce((sum, { features }) => sum + (features[i] - mean) ** 2, 0) / examples.length;
  });
  return [...variances.map((variance) => variance + 1e-9), 1e-6];
}

/** Misses and false alarms at log odds 0. */
export function confusion(
  examples: readonly Example[],
  weights: readonly number[],
): { missed: number; false: number } {
  let missed = 0;
  let wrong = 0;
  for (const { features, positive } of examples) {
    const says = dot([...features, 1], weights) > 0;
    if (positive && !says) missed++;
    if (!positive && says) wrong++;
  }
  return { missed, false: wrong };
}

const dot = (a: readonly number[], b: readonly number[]): number =>
  a.reduce((sum, value, i) => sum + value * b[i], 0);

/** Gaussian elimination with partial pivoting. */
function solve(matrix: readonly (readonly number[])[], right: readonly number[]): number[] {
  const rows = matrix.map((row, i) => [...row, right[i]]);
  const size = rows.length;
  for (let column = 0; column < size; column++) {
    let pivot = column;
    for (let row = column + 1; row < size; row++) {
      if (Math.abs(rows[row][column]) > Math.abs(rows[pivot][column])) pivot = row;
    }
    [rows[column], rows[pivot]] = [rows[pivot], rows[column]];
    for (let row = 0; row < size; row++) {
      if (row === column) continue;
      const factor = rows[row][column] / rows[column][column];
      for (let k = column; k <= size; k++) rows[row][k] -= factor * rows[column][k];
    }
  }
  return rows.map((row, i) => row[size] / row[i]);
}
