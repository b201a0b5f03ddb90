import type { Bar } from './bars.ts';
import type { StaffSymbol } from './staff-symbols.ts';

/** What a beam does at a note, as MusicXML names it. */
export type BeamValue = 'begin' | 'continue' | 'end' | 'forward hook' | 'backward hook';

const FLAGS: Readonly<Record<StaffSymbol['type'], number>> = {
  breve: 0,
  whole: 0,
  half: 0,
  quarter: 0,
  eighth: 1,
  '16th': 2,
};

/**
 * Beams of a bar: short notes of one pulse share a beam, and sixteenths a second one.
 * @param pulseTicks  length of what is beamed together
 * @returns for each symbol its beams, the outermost first; empty where it has none
 */
export function beamsOf(bar: Bar, pulseTicks: number): BeamValue[][] {
  const beams: BeamValue[][] = bar.symbols.map(() => []);
  let at = bar.offsetTicks;
  let group: number[] = [];
  const close = () => {
    if (group.length > 1) for (const level of [1, 2]) beamGroup(bar.symbols, group, level, beams);
    group = [];
  };
  for (const [i, symbol] of bar.symbols.entries()) {
    if (at % pulseTicks === 0) close();
    if (symbol.note !== null && FLAGS[symbol.type] > 0) group.push(i);
    else close();
    at += symbol.ticks;
  }
  close();
  return beams;
}

function beamGroup(
  symbols: readonly StaffSymbol[],
  group: readonly number[],
  level: number,
  beams: BeamValue[][],
): void {
  const has = (place: number) =>
    place >= 0 && place < group.length && FLAGS[symbols[group[place]].type] >= level;
  for (const [place, index] of group.entries()) {
    if (!has(place)) continue;
    const before = has(place - 1);
    const after = has(place + 1);
    beams[index].push(
      before && after
        ? 'continue'
        : after
          ? 'begin'
          : before
            ? 'end'
            : place === 0
              ? 'forward hook'
              : 'backward hook',
    );
  }
}
