import type { Advice } from './advice.ts';

/** One point and how to practise it, in one line. */
export function adviceInWords({ message, practise }: Advice): string {
  return `${message}. ${capital(practise)}`;
}

/** The first point for one take, in a few words. */
export function firstInWords({
  otherTune,
  advice,
}: {
  readonly otherTune: boolean;
  readonly advice: readonly Advice[];
}): string {
  return otherTune ? 'probably another tune' : (advice[0]?.message ?? 'all right');
}

export const capital = (text: string): string => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;
