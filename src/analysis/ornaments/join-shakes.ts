import { median } from '../../statistics.ts';
import type { SoundEvent } from '../notes/events.ts';
import type { ReedSet } from '../notes/states.ts';

/** Notes of a shake are no longer than this, and there are at least so many of them. */
const LONGEST_TURN_SEC = 0.16;
const FEWEST_TURNS = 5;
/** Nearer than this one note goes on into the other. */
const TOUCHING_SEC = 0.035;
/** A tongue between the notes lets the level sink by more than this, in dB. */
const MOST_DIP_DB = 4;
const SAME_SEMITONES = 0.4;

/** Joins two neighbouring holes that are heard in quick turn to one shake; notes that are tongued stay notes. */
export function joinShakes(events: readonly SoundEvent[], sets: readonly ReedSet[]): SoundEvent[] {
  const joined: SoundEvent[] = [];
  for (let i = 0; i < events.length; ) {
    const set = shakeOf(events[i], events[i + 1], sets);
    const to = set === undefined ? i + 1 : endOfTurns(events, i, set);
    const turns = events.slice(i, to);
    if (set !== undefined && turns.length >= FEWEST_TURNS && isSlurred(turns)) {
      joined.push(shake(turns, set));
      i = to;
    } else {
      joined.push(events[i]);
      i++;
    }
  }
  return joined;
}

function shakeOf(
  one: SoundEvent,
  other: SoundEvent | undefined,
  sets: readonly ReedSet[],
): ReedSet | undefined {
  if (other === undefined || one.set !== undefined || other.set !== undefined) return undefined;
  return sets.find(
    ({ shake, midis }) => shake && isOf(one, midis) && isOf(other, midis) && !isSame(one, other),
  );
}

const isOf = ({ midi }: SoundEvent, midis: readonly number[]): boolean =>
  midis.some((one) => Math.abs(one - midi) < SAME_SEMITONES);
const isSame = (a: SoundEvent, b: SoundEvent): boolean => Math.abs(a.midi - b.midi) < SAME_SEMITONES;

/** Place of the first event that is no turn any more. */
function endOfTurns(events: readonly SoundEvent[], from: number, { midis }: ReedSet): number {
  let to = from;
  for (; to < events.length; to++) {
    const event = events[to];
    if (event.set !== undefined || !isOf(event, midis)) break;
    if (event.offsetSec - event.onsetSec > LONGEST_TURN_SEC) break;
    if (
      to > from &&
      (isSame(event, events[to - 1]) || event.onsetSec - events[to - 1].offsetSec > TOUCHING_SEC)
    )
      break;
  }
  return to;
}

function isSlurred(turns: readonly SoundEvent[]): boolean {
  return median(turns.slice(1).map(({ dipDb }) => dipDb)) < MOST_DIP_DB;
}

function shake(turns: readonly SoundEvent[], set: ReedSet): SoundEvent {
  const [first] = turns;
  const last = turns[turns.length - 1];
  return {
    ...first,
    offsetSec: last.offsetSec,
    set,
    notesPerSec: turns.length / (last.offsetSec - first.onsetSec),
    heldSec: [first.heldSec[0], last.heldSec[1]],
    soundingNats: median(turns.map(({ soundingNats }) => soundingNats)),
  };
}
