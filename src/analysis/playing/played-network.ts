import type { SmallNetwork } from '../../decode/small-network.ts';
/** Playing against talk. By tests/bench/fit/fit-played.ts on the development takes and speech; the inputs are those of eventFeatures. */
export const PLAYED_NETWORK: SmallNetwork = {
  bias: -8.125,
  direct: [0.7105, 0.921, 1.699, -0.7831, -3.03, -4],
  hidden: [
    { bias: 1.157, output: 3.067, inputs: [-0.3319, 1.153, 0.8691, 0.9329, 4.815, 2.467] },
    { bias: 4.486, output: -1.438, inputs: [0.3203, 0.55, -1.768, 0.4856, -0.278, -2.18] },
    { bias: 2.58, output: -2.273, inputs: [-1.142, 0.4455, 0.3135, 1.726, -1.762, 0.8351] },
    { bias: 0.2884, output: -2.364, inputs: [-0.7714, 0.3773, 0.1644, 1.241, 7.805, 3.963] },
  ],
};
/** A whole note against a short fragment of one. By tests/bench/fit/fit-played.ts on the development takes and speech; the inputs are those of eventFeatures. */
export const WHOLE_NETWORK: SmallNetwork = {
  bias: 0.6428,
  direct: [0.4863, 0.00003369, -0.06982, -0.309, 3.076, 0.3003],
  hidden: [
    { bias: 0.694, output: 3.115, inputs: [1.17, 0.3939, 0.1316, -0.2509, 1.014, -0.3515] },
    { bias: -5.233, output: -3.054, inputs: [-0.6894, -0.3254, 0.2541, -0.5069, 9.239, 3.335] },
  ],
};
