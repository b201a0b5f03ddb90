/** A channel this far below the louder one adds only noise. Power ratio. [chosen by hand] */
const NEAR_DEAD_DB = 15;
/** Of more than two channels the front pair is used, unless another channel is this much louder. [chosen by hand] */
const FRONT_PAIR_DB = 3;
/**
 * Below this correlation (spaced microphones) the sum of two channels would be comb-filtered, so only the louder is
 * used. [chosen by hand]
 */
const CORRELATED = 0.3;

interface Mix {
  /** Share of each channel in the mono signal. */
  weights: Float64Array;
  /** What was left out or inverted, in a plain sentence; empty when nothing was. */
  remark: string;
}

/**
 * How to make one channel of several.
 * @param energies energy of each channel, offset removed, all over the same stretch
 * @param front covariance of the first two channels over that stretch
 */
export function chooseMix({ energies, front }: { energies: Float64Array; front: number }): Mix {
  const weights = new Float64Array(energies.length);
  let loudest = 0;
  for (let c = 1; c < energies.length; c++) if (energies[c] > energies[loudest]) loudest = c;
  const frontLoudest = energies[0] >= energies[1] ? 0 : 1;
  const many = energies.length > 2;
  if (many && energies[frontLoudest] < energies[loudest] * 10 ** (-FRONT_PAIR_DB / 10)) {
    weights[loudest] = 1;
    return {
      weights,
      remark: `of ${energies.length} channels only channel ${loudest + 1}, the loudest, was used`,
    };
  }
  const among = many ? `of ${energies.length} channels the front pair was used` : '';
  const loud = frontLoudest;
  const quiet = 1 - loud;
  if (energies[loud] === 0) {
    weights[0] = 1;
    return { weights, remark: among };
  }
  const sides = ['left', 'right'];
  if (energies[quiet] < energies[loud] * 10 ** (-NEAR_DEAD_DB / 10)) {
    weights[loud] = 1;
    const how = energies[quiet] === 0 ? 'silent' : 'nearly silent';
    const remark = `the ${sides[quiet]} channel is ${how}: only the ${sides[loud]} one was used`;
    return { weights, remark: many ? `${among}; ${remark}` : remark };
  }
  const correlation = front / Math.sqrt(energies[0] * energies[1]);
  if (Math.abs(correlation) < CORRELATED) {
    weights[loud] = 1;
    const remark = `left and right have little in common: only the ${sides[loud]} channel, the louder, was used`;
    return { weights, remark: many ? `${among}; ${remark}` : remark };
  }
  weights[loud] = 0.5;
  weights[quiet] = correlation < 0 ? -0.5 : 0.5;
  if (correlation >= 0) return { weights, remark: among };
  const remark = 'left and right are out of phase: one of them was inverted';
  return { weights, remark: many ? `${among}; ${remark}` : remark };
}
