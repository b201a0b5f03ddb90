/**
 * Largest one-to-one pairing of a bipartite graph (augmenting paths: Kuhn, 1955, Naval Research Logistics 2).
 * @param edges for each left vertex, the right vertices that it may be paired with
 * @param rightCount number of right vertices
 * @returns for each left vertex its right vertex, or -1
 */
export function maximumMatching(edges: readonly (readonly number[])[], rightCount: number): Int32Array {
  const leftOf = new Int32Array(rightCount).fill(-1);
  const rightOf = new Int32Array(edges.length).fill(-1);
  const seen = new Int32Array(rightCount).fill(-1);

  const augment = (left: number, round: number): boolean => {
    for (const right of edges[left]) {
      if (seen[right] === round) continue;
      seen[right] = round;
      if (leftOf[right] < 0 || augment(leftOf[right], round)) {
        leftOf[right] = left;
        rightOf[left] = right;
        return true;
      }
    }
    return false;
  };

  for (let left = 0; left < edges.length; left++) augment(left, left);
  return rightOf;
}
