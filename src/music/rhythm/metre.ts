/** Grid steps per beat (a quarter note). Twelve holds sixteenths (3), triplets (4) and eighths (6) as whole numbers. */
export const TICKS_PER_BEAT = 12;

/** As in 6/8: six of the eighth. */
export interface Metre {
  readonly count: number;
  readonly unit: number;
}

/** How a bar is divided: the grid places where a note may begin, and how likely each is. */
export interface BarPlan {
  readonly metre: Metre;
  readonly barTicks: number;
  /** Length of the pulse that the foot taps, in ticks: a quarter, or a dotted quarter in 6/8. */
  readonly pulseTicks: number;
  /** Places in the bar where a note may begin, ascending from 0. */
  readonly places: readonly number[];
  /** For each place, the probability that a note begins there rather than passing it, (0, 1). */
  readonly onsetShare: readonly number[];
  /** Beats are divided in three, as in a shuffle. */
  readonly swung: boolean;
}

/*
 * Share of grid places at each level that carry a note in a melody. The idea and the order are those of Temperley,
 * Music and Probability (2007), chapter 3; the values were set by hand on traditional tunes [no source].
 */
const SHARE = {
  bar: 0.9,
  half: 0.78,
  pulse: 0.7,
  compoundEighth: 0.62,
  straight: { eighth: 0.32, sixteenth: 0.09, third: 0.02, twoThirds: 0.02 },
  swung: { eighth: 0.02, sixteenth: 0.01, third: 0.005, twoThirds: 0.7 },
};

/** True for 6/8, 9/8 and 12/8, whose pulse divides in three. */
export function isCompound({ count, unit }: Metre): boolean {
  return unit === 8 && count > 3 && count % 3 === 0;
}

/** Length of a bar in ticks; a whole number for every metre that `parseMetre` accepts. */
export function barTicks({ count, unit }: Metre): number {
  return (count * 4 * TICKS_PER_BEAT) / unit;
}

/** How weak a place in the bar is: 0 on the bar line, 1 on a pulse, 2 between pulses. */
export function weaknessOf(atTicks: number, metre: Metre): 0 | 1 | 2 {
  if (atTicks % barTicks(metre) === 0) return 0;
  return atTicks % pulseTicks(metre) === 0 ? 1 : 2;
}

/** Length of the pulse that the foot taps, in ticks: a quarter, or a dotted quarter in 6/8. */
function pulseTicks(metre: Metre): number {
  return isCompound(metre) ? 18 : barTicks(metre) % TICKS_PER_BEAT === 0 ? TICKS_PER_BEAT : 6;
}

/** Number of the bar that holds a place, as engravers count: a pick-up is bar 0, the first full bar is bar 1. */
export function barNumber(atTicks: number, metre: Metre, pickupTicks: number): number {
  return Math.floor(atTicks / barTicks(metre)) + (pickupTicks > 0 ? 0 : 1);
}

/**
 * The pick-up that follows from where a tune's first bar line is.
 * @param firstBarBeats  position of the first bar line after a note, in quarter notes; null if there is none
 */
export function pickupOf(firstBarBeats: number | null, metre: Metre | null): { pickupBeats?: number } {
  if (firstBarBeats === null || metre === null) return {};
  const isShort = firstBarBeats < barTicks(metre) / TICKS_PER_BEAT - 1e-6;
  return isShort ? { pickupBeats: firstBarBeats } : {};
}

/**
 * Reads a metre such as `3/4` or `6/8`.
 * @returns null unless it is a metre that can be written: counts 1 to 16 over 2, 4, 8 or 16
 */
export function parseMetre(text: string): Metre | null {
  const match = /^\s*(\d{1,2})\s*\/\s*(2|4|8|16)\s*$/.exec(text);
  if (!match) return null;
  const count = Number(match[1]);
  return count >= 1 && count <= 16 ? { count, unit: Number(match[2]) } : null;
}

/** Onset shares are kept this far from 0 and 1. */
const NEVER = 0.005;
const ALWAYS = 0.97;

/**
 * The grid of one bar of a metre. If swung, most beats are divided in three (not in compound metres).
 * @param sixteenths  how often a note begins on each sixteenth of the bar; if omitted, by the level of the place
 */
export function planBar(metre: Metre, swung = false, sixteenths?: readonly number[]): BarPlan {
  const length = barTicks(metre);
  const compound = isCompound(metre);
  const pulse = pulseTicks(metre);
  const places: number[] = [];
  const onsetShare: number[] = [];
  for (let tick = 0; tick < length; tick++) {
    const within = swung ? SHARE.swung : SHARE.straight;
    const share = shareAt(tick, length, pulse, compound, within);
    if (share === 0) continue;
    const counted = tick % 3 === 0 && (!swung || tick % pulse === 0) ? sixteenths?.[tick / 3] : undefined;
    places.push(tick);
    onsetShare.push(Math.min(ALWAYS, Math.max(NEVER, counted ?? share)));
  }
  return { metre, barTicks: length, pulseTicks: pulse, places, onsetShare, swung };
}

function shareAt(
  tick: number,
  length: number,
  pulse: number,
  compound: boolean,
  within: (typeof SHARE)['straight'],
): number {
  if (tick === 0) return SHARE.bar;
  if (tick % pulse === 0) return !compound && length === 48 && tick === 24 ? SHARE.half : SHARE.pulse;
  if (tick % 6 === 0) return compound ? SHARE.compoundEighth : within.eighth;
  if (tick % 3 === 0) return within.sixteenth;
  if (tick % 4 !== 0 || compound || pulse !== TICKS_PER_BEAT) return 0;
  return tick % TICKS_PER_BEAT === 8 ? within.twoThirds : within.third;
}
