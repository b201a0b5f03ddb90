/** A network with one hidden layer, and a direct way from the inputs beside it: log odds of one thing. */
export interface SmallNetwork {
  readonly bias: number;
  /** Weights of the direct way. */
  readonly direct: readonly number[];
  readonly hidden: readonly HiddenUnit[];
}

/** A unit answers with the hyperbolic tangent of its weighted inputs. */
interface HiddenUnit {
  readonly bias: number;
  readonly inputs: readonly number[];
  /** Weight of its answer. */
  readonly output: number;
}

/** Log odds for the inputs, which are as many as the weights. */
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
