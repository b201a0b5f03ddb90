import type { Paint } from '../../tab/sheet.ts';
import { canColour, type Io } from './io.ts';

// Select Graphic Rendition (ECMA-48): faint, yellow, and back.
const FAINT = ['\u001b[2m', '\u001b[22m'] as const;
const YELLOW = ['\u001b[33m', '\u001b[39m'] as const;

/** Colours for results on standard output; none if it is not a terminal, or NO_COLOR is set. */
export function paintFor(io: Pick<Io, 'stdout' | 'env'>): Paint {
  const within = (codes: readonly [on: string, off: string]) =>
    canColour(io.stdout, io.env) ? (text: string) => `${codes[0]}${text}${codes[1]}` : (text: string) => text;
  return { faint: within(FAINT), alert: within(YELLOW) };
}
