const SIGNS = ['4', '-4', '5', '-5', '6', '-6', '7', '-7', "-3''", '-3', '-2', '3'];
let seed = 1;
/** The same numbers in every run (Park and Miller, CACM 31(10), 1988). */
const random = (below: number): number => {
  seed = (seed * 16807) % 2147483647;
  return seed % below;
};

/** Two thousand notes in 200 lines, no two alike: the hardest to tell repeats in. */
export const LONG_LINES: readonly string[] = Array.from({ length: 200 }, () =>
  Array.from({ length: 10 }, () => SIGNS[random(SIGNS.length)]).join(' '),
);
