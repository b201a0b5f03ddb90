import { describe, expect, it } from 'vitest';
import { reedEvidence } from '../../../src/measure/leak/leaks.ts';
import { evidenceOf, REED_LOG_ODDS, reedLogOdds } from '../../../src/measure/leak/reed-evidence.ts';
import { REED_NETWORK } from '../../../src/measure/leak/reed-network.ts';
import { eventOf, harp, noteOf, type Reed, sightsOf, sound, sure } from '../sounds.ts';

const C = harp();
const FOUR = noteOf(C, 4, 'blow');
const FIVE = noteOf(C, 5, 'blow');
/** 4 blow six times and 5 blow once, 0.4 s each with pauses of 0.2 s; what is looked at is the seventh 4 blow. */
const NOTES = [FOUR, FOUR, FOUR, FIVE, FOUR, FOUR, FOUR, FOUR];
const LAST = NOTES.length - 1;
const TIMES = NOTES.map((_, i) => [0.6 * i, 0.6 * i + 0.4] as const);
const [FROM_SEC, TO_SEC] = TIMES[LAST];

/** Log odds that hole 5 sounds along with the last note, with other sounds in the take. */
function oddsWith(others: readonly Reed[]): number {
  const notes = NOTES.map(({ midi }, i) => ({ midi, levelDb: 0, fromSec: TIMES[i][0], toSec: TIMES[i][1] }));
  const samples = sound([...notes, ...others], TO_SEC + 0.6, -45);
  const events = NOTES.map(({ midi }, i) => eventOf(midi, ...TIMES[i]));
  const readings = NOTES.map((note) => sure(note));
  const { take } = reedEvidence(sightsOf(samples, events, readings, C), events, readings);
  const reed = take.observations[LAST].reeds.find(({ note, next }) => note.hole === 5 && next);
  if (reed === undefined) throw new Error('hole 5 was not seen');
  expect(evidenceOf(take, LAST, reed).every(Number.isFinite)).toBe(true);
  expect(evidenceOf(take, LAST, reed)).toHaveLength(REED_NETWORK.direct.length);
  return reedLogOdds(take, LAST, reed);
}

const along: Reed = { midi: FIVE.midi, levelDb: -16, fromSec: FROM_SEC, toSec: TO_SEC };

describe('evidence for a second reed', () => {
  const withReed = oddsWith([along]);

  it('is clear if the reed comes and goes with the note', () => {
    expect(withReed).toBeGreaterThan(REED_LOG_ODDS + 1);
  });

  it('is weaker for a sound that was there before the note and stays after it', () => {
    expect(oddsWith([{ ...along, fromSec: FROM_SEC - 0.3, toSec: TO_SEC + 0.5 }])).toBeLessThan(withReed - 1);
  });

  it('is weaker for partials that the reed lacks when it is the note', () => {
    expect(oddsWith([{ ...along, slopeDbPerOctave: 20 }])).toBeLessThan(withReed - 1);
  });

  it('is weaker for a faint reed if other notes have reeds beside them that no breath sounds together', () => {
    const faint = { ...along, levelDb: -22 };
    const guitar = TIMES.slice(0, LAST).map(
      ([fromSec, toSec]): Reed => ({ midi: noteOf(C, 5, 'draw').midi, levelDb: -16, fromSec, toSec }),
    );
    expect(oddsWith([faint, ...guitar])).toBeLessThan(oddsWith([faint]) - 0.5);
  });
});
