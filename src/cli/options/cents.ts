import { InvalidArgumentError } from 'commander';

/** Widest meaningful tolerance: beyond half a semitone a bend is another note. */
const WIDEST_CENTS = 50;

export function parseCents(text: string): number {
  const cents = Number(text);
  if (text.trim() === '' || !(cents > 0 && cents <= WIDEST_CENTS)) {
    throw new InvalidArgumentError(`Give a number of cents up to ${WIDEST_CENTS}.`);
  }
  return cents;
}
