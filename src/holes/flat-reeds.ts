import type { SoundEvent } from '../analysis/notes/events.ts';
import type { Hypothesis } from '../decode/hypotheses.ts';
import type { PlayableNote } from '../harp/types.ts';
import { median } from '../statistics.ts';
import { hzToMidi } from '../units.ts';

/** Worn reeds go flat by this many cents (common practice, no source): less is ordinary tuning, more a bend. */
const LEAST_FLAT_CENTS = 20;
const MOST_FLAT_CENTS = 45;
/**
 * A reed keeps its pitch from note to note to within this (median distance from the median); nobody bends that evenly.
 */
const SPREAD_CENTS = 4;
const FEWEST = 3;
/** A note this close to the reed's proper pitch shows that the reed is in tune. */
const IN_TUNE_CENTS = 14;
/** If more reeds than this seem flat, it is the tuning, not the reeds. */
const MOST = 3;
/** Share of reeds that are flat. */
const SHARE = 0.02;

/**
 * Reeds that may be flat. Notes that always lie the same amount below a natural note, with none at its proper pitch,
 * come from that reed rather than from a bend that always falls short by the same amount. Each such reed gives a
 * hypothesis, beside the one that it is in tune.
 * @param naturalCents spread of intonation assumed for natural notes
 */
export function flatReeds(
  events: readonly SoundEvent[],
  notes: readonly PlayableNote[],
  naturalCents: number,
): Hypothesis[][] {
  const sets = notes.flatMap((note, s) => {
    if (note.bend > 0 || note.over) return [];
    const target = hzToMidi(note.f0Hz);
    const below = events.map(({ midi }) => 100 * (target - midi));
    if (below.some((cents) => Math.abs(cents) < IN_TUNE_CENTS)) return [];
    const flat = below.filter(isFlat);
    if (flat.length < FEWEST) return [];
    const middle = median(flat);
    if (median(flat.map((cents) => Math.abs(cents - middle))) > SPREAD_CENTS) return [];
    const misfit = (cents: number): number => -0.5 * (cents / naturalCents) ** 2;
    return [
      [
        { logPrior: Math.log(1 - SHARE), changes: [] },
        {
          logPrior: Math.log(SHARE),
          changes: below.flatMap((cents, place) =>
            isFlat(cents) ? [{ place, state: s, nats: misfit(cents - middle) - misfit(cents) }] : [],
          ),
        },
      ],
    ];
  });
  return sets.length > MOST ? [] : sets;
}

const isFlat = (belowCents: number): boolean => belowCents > LEAST_FLAT_CENTS && belowCents < MOST_FLAT_CENTS;
