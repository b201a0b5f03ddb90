/** A network with one hidden layer, plus direct connections from its inputs; its output is the log odds of one thing. */
export interface SmallNetwork {
  readonly bias: number;
  /** Weights of the direct connections. */
  readonly direct: readonly number[];
  readonly hidden: readonly HiddenUnit[];
}

/** A hidden unit: the hyperbolic tangent of its weighted inputs. */
interface HiddenUnit {
  readonly bias: number;
  readonly inputs: readonly number[];
  /** Weight of its output. */
  readonly output: number;
}

/** Log odds for these inputs, one per weight. */
export function logOddsOf({ bias, direct, hidden }: SmallNetwork, inputs: readonly number[]): number {
  let sum = bias + dot(direct, inputs);
  for (const unit of hidden) sum += unit.output * Math.tanh(unit.bias + dot(unit.inputs, inputs));
  return sum;
}

function dot(a: readonly number[], b: readonly number[]): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum;
}
