import { ReedtraceError } from '../errors.ts';
import { midiToHz } from '../units.ts';
import { parseHarpKey } from './keys.ts';
import { HOLES, type Layout, layoutById } from './layouts.ts';
import { reedCents, temperamentById } from './temperaments.ts';
import type { Breath, CustomHarp, HarpSpec, PlayableNote } from './types.ts';

/** The part of a spec that names a tuning. */
type NamedTuning = Pick<HarpSpec, 'tuning' | 'custom'>;

/** The layout that a spec names: its own custom one, or a built-in one. @throws ReedtraceError E_TUNING */
export function layoutOf({ tuning, custom }: NamedTuning): Layout {
  return custom?.layout?.id === tuning ? custom.layout : layoutById(tuning);
}

/** The custom parts that a spec names; undefined when it names none. */
export function ownParts(
  spec: Pick<HarpSpec, 'tuning' | 'temperament'>,
  { layout, temperament }: CustomHarp = {},
): CustomHarp | undefined {
  const ownLayout = layout?.id === spec.tuning;
  const ownTemperament = temperament?.id === spec.temperament;
  if (!ownLayout && !ownTemperament) return undefined;
  return { ...(ownLayout ? { layout } : {}), ...(ownTemperament ? { temperament } : {}) };
}

/** Deepest bend, in semitones: no built-in tuning has a deeper one, and no take may hold one. */
const DEEPEST_BEND = 3;
const A4_RANGE_HZ = [400, 480] as const;

/**
 * Every note that this harp can play, hole by hole: blow, draw, bends from shallow to deep, overblow or overdraw. Bends
 * reach down to one semitone above the lower reed, in the breath of the higher reed (JASA 103(4), 2134-2144; harp-l.org
 * 1994-September msg00482); an overbend sounds one semitone above the higher reed, in the other breath (common
 * practice, no source). A Richter harp gives 42. Targets in Hz: a bend is n × 100 cents below its own reed as tempered,
 * an overbend 100 cents above the higher reed.
 * @param custom used instead of what the spec names
 * @throws ReedtraceError E_HARP, E_TUNING for a key, tuning, temperament or A4 that is not valid
 */
export function playableNotes(spec: HarpSpec, custom: CustomHarp = {}): PlayableNote[] {
  const layout = custom.layout ?? layoutOf(spec);
  const held = ownParts(spec, spec.custom);
  const temperament = custom.temperament ?? held?.temperament ?? temperamentById(spec.temperament);
  const { tonicMidi } = parseHarpKey(spec.key);
  const [lowestHz, highestHz] = A4_RANGE_HZ;
  if (!(spec.a4Hz >= lowestHz && spec.a4Hz <= highestHz)) {
    throw new ReedtraceError(
      'E_HARP',
      `A4 = ${spec.a4Hz} Hz is not a reference pitch`,
      `give one between ${lowestHz} and ${highestHz} Hz, such as 440 or 442`,
    );
  }
  const notes: PlayableNote[] = [];
  for (let hole = 1; hole <= HOLES; hole++) {
    const reed = (breath: Breath): PlayableNote => {
      const offset = layout[breath][hole - 1];
      const midi = tonicMidi + offset;
      const cents = reedCents(temperament, hole, breath, offset);
      const f0Hz = midiToHz(midi + cents / 100, spec.a4Hz);
      return { hole, breath, bend: 0, over: false, midi, f0Hz };
    };
    const blow = reed('blow');
    const draw = reed('draw');
    const [higher, lower] = draw.midi > blow.midi ? [draw, blow] : [blow, draw];
    notes.push(blow, draw);
    for (let bend = 1; bend < higher.midi - lower.midi && bend <= DEEPEST_BEND; bend++) {
      notes.push({ ...higher, bend, midi: higher.midi - bend, f0Hz: higher.f0Hz * 2 ** (-bend / 12) });
    }
    notes.push({
      hole,
      breath: lower.breath,
      bend: 0,
      over: true,
      midi: higher.midi + 1,
      f0Hz: higher.f0Hz * 2 ** (1 / 12),
    });
  }
  return notes;
}

/** The twenty unbent notes, hole by hole, blow before draw. */
export function naturalReeds(spec: HarpSpec, custom: CustomHarp = {}): PlayableNote[] {
  return playableNotes(spec, custom).filter((note) => note.bend === 0 && !note.over);
}

/** The playable note of this hole, breath and technique; `undefined` when the harp has none. */
export function findPlayable(
  notes: readonly PlayableNote[],
  wanted: Pick<PlayableNote, 'hole' | 'breath' | 'bend' | 'over'>,
): PlayableNote | undefined {
  return notes.find(
    (note) =>
      note.hole === wanted.hole &&
      note.breath === wanted.breath &&
      note.bend === wanted.bend &&
      note.over === wanted.over,
  );
}

/** A note on one or several holes, as tab writes it. */
type OnHoles = Pick<PlayableNote, 'hole' | 'breath' | 'bend' | 'over'> & {
  readonly holes?: readonly number[] | undefined;
  readonly holeBends?: readonly number[] | undefined;
};

/** What sounds when a note on one or several holes is played, from the lowest hole; without holes that have no such note. */
export function soundingNotes(notes: readonly PlayableNote[], played: OnHoles): PlayableNote[] {
  const { hole, breath, bend, over, holes = [hole], holeBends } = played;
  return holes.flatMap((each, i) => {
    const isMelody = each === hole;
    const by = holeBends?.[i] ?? (isMelody ? bend : 0);
    return findPlayable(notes, { hole: each, breath, bend: by, over: isMelody && over }) ?? [];
  });
}

/** The pitches of a note on one or several holes, as ascending integer MIDI numbers, each once. */
export function pitchesOf(notes: readonly PlayableNote[], played: OnHoles): number[] {
  const midis = soundingNotes(notes, played).map(({ midi }) => midi);
  return [...new Set(midis)].sort((a, b) => a - b);
}
