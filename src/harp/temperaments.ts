import { ReedtraceError } from '../errors.ts';
import { HOLES, ownName } from './layouts.ts';
import type { Breath, Temperament } from './types.ts';

type Ratio = readonly [number, number];

/*
 * Just ratios above hole-1 blow, by semitone. Richter has 0 2 4 5 7 9 11; its 5/9 draw (fourth) and 6/10 draw
 * (sixth) are what the schemes disagree on (http://ohw.se/hca/ji_hca01.scl, 02, 03, 23; tuning02.php). The other
 * five only occur on altered reeds, and take the pure third or fifth that their chord needs [calculated]:
 * 6/5, 45/32 = 5/4 above 4 draw, 8/5 = 6/5 above 4/3, 9/5 = 6/5 above 2 draw; 16/15 = 4/3 of 4/5.
 */
function justRatios(fourth: Ratio, sixth: Ratio): readonly Ratio[] {
  return [[1, 1], [16, 15], [9, 8], [6, 5], [5, 4], fourth, [45, 32], [3, 2], [8, 5], sixth, [9, 5], [15, 8]];
}

function just(id: string, name: string, fourth: Ratio, sixth: Ratio): Temperament {
  const cents = justRatios(fourth, sixth).map(
    ([over, under], semitones) => 1200 * Math.log2(over / under) - 100 * semitones,
  );
  return { kind: 'intervals', id, name, cents };
}

/** The built-in temperaments. */
export const TEMPERAMENTS: readonly Temperament[] = [
  { kind: 'intervals', id: 'equal', name: 'equal', cents: new Array<number>(12).fill(0) },
  just('just-1st', 'just intonation for first position', [4, 3], [5, 3]),
  just('just-7-limit', 'just intonation for second position (7-limit)', [21, 16], [27, 16]),
  just('just-3rd', 'just intonation for third position', [27, 20], [27, 16]),
  just('compromise', 'compromise of second and third position', [4, 3], [27, 16]),
  just('19-limit', '19-limit compromise', [171, 128], [27, 16]),
];

/** `just` alone means the traditional scheme. */
const ALIASES: Readonly<Record<string, string>> = { just: 'just-7-limit', '7-limit': 'just-7-limit' };

/** The temperament of this id or alias. @throws ReedtraceError E_TUNING that lists the ids. */
export function temperamentById(id: string): Temperament {
  const plain = id.trim().toLowerCase();
  const wanted = ALIASES[plain] ?? plain;
  const temperament = TEMPERAMENTS.find((candidate) => candidate.id === wanted);
  if (temperament) return temperament;
  throw new ReedtraceError(
    'E_TUNING',
    `no temperament is called '${id}'`,
    `use one of ${TEMPERAMENTS.map((t) => t.id).join(', ')}, or a JSON file with twenty cents values`,
  );
}

/**
 * Deviation of one reed from equal temperament, in cents.
 * @param hole  1 to 10
 * @param offset  semitones of the reed above hole-1 blow, any integer
 */
export function reedCents(temperament: Temperament, hole: number, breath: Breath, offset: number): number {
  if (temperament.kind === 'reeds') return temperament[breath][hole - 1];
  return temperament.cents[((offset % 12) + 12) % 12];
}

/** Widest deviation that a custom table may hold: half a semitone, beyond which the reed would be another note. */
export const MAX_TABLE_CENTS = 50;

/**
 * Reads a custom table: `{ "name": "mine", "blow": [ten cents], "draw": [ten cents] }`, each -50 to 50.
 * @param json  the parsed JSON value
 * @throws ReedtraceError E_TUNING that names the hole
 */
export function parseTemperamentTable(json: unknown): Temperament {
  if (typeof json !== 'object' || json === null || Array.isArray(json)) {
    throw tableError('the temperament is not a JSON object');
  }
  const { name, blow, draw } = json as Record<string, unknown>;
  return {
    kind: 'reeds',
    id: 'custom',
    name: ownName(name),
    blow: parseCents('blow', blow),
    draw: parseCents('draw', draw),
  };
}

function parseCents(breath: Breath, row: unknown): number[] {
  if (!Array.isArray(row)) throw tableError(`the temperament has no list '${breath}'`);
  if (row.length !== HOLES) throw tableError(`'${breath}' has ${row.length} values instead of ${HOLES}`);
  return row.map((cents, i) => {
    if (typeof cents !== 'number' || !(Math.abs(cents) <= MAX_TABLE_CENTS)) {
      throw tableError(`hole ${i + 1} ${breath}: ${JSON.stringify(cents)} is not a number from -50 to 50`);
    }
    return cents;
  });
}

function tableError(message: string): ReedtraceError {
  return new ReedtraceError(
    'E_TUNING',
    message,
    'write {"name": "…", "blow": [ten cents], "draw": [ten cents]}, each between -50 and 50',
  );
}
