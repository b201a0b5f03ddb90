/**
 * Writes four lanes of floats apart, as doubles, and the mean of the first `count` (1 to 4) of them, for places [from, to).
 * @param stride  bytes from one lane's doubles to the next one's
 */
export function partLanes(
  lanes: usize,
  from: usize,
  to: usize,
  count: u32,
  out: usize,
  stride: usize,
  mean: usize,
): void {
  for (let k = from; k < to; k++) {
    const at = lanes + (k << 4);
    const place = out + (k << 3);
    let sum: f64 = 0;
    for (let lane: u32 = 0; lane < count; lane++) {
      const value = <f64>load<f32>(at + (lane << 2));
      store<f64>(place + <usize>lane * stride, value);
      sum += value;
    }
    store<f64>(mean + (k << 3), sum / <f64>count);
  }
}
