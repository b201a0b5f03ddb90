import type { Advice } from './advice.ts';

/** One point with how to practise it, for those who want one line. */
export function adviceInWords({ message, practise }: Advice): string {
  return `${message}. ${capital(practise)}`;
}

export const capital = (text: string): string => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;
