import { parseHarpKey } from '../../harp/keys.ts';
import { noteName } from '../../harp/names.ts';
import { findPlayable } from '../../harp/playable.ts';
import { ACCEPTED, CORRECTED, UNMEASURED } from '../../tab/flags.ts';
import type { Note, NoteStart } from '../../tab/note.ts';
import { type NoteOrnament, ornamentsOf } from '../../tab/ornament.ts';
import { isDoubtful } from '../../tab/remarks.ts';
import { formatTabNote } from '../../tab/text.ts';
import { contradictionText, contradicts } from '../state/against-sound.ts';
import type { UiState } from '../state/state.ts';
import { type Line, span } from './line.ts';
import { fineClock } from './time.ts';

const STARTS: Readonly<Record<NoteStart, string>> = {
  silence: 'after silence',
  breath: 'on a new breath',
  tongue: 'tongued',
  slur: 'slurred',
  glide: 'by a glide',
  jump: 'after a jump',
};
/** Readings less likely than this are not named. */
const LEAST_SHOWN = 0.01;
const MOST_SHOWN = 4;
/** Below this width there is no room for the end of a note and the measures of its ornaments. */
const NARROW_COLUMNS = 72;

/** A note in words: `3 draw bend by 2`. */
function inWords(note: Note): string {
  if (note.over) return `${note.hole} over${note.breath}`;
  if (note.holes !== undefined) {
    const all = note.holes.map((hole, i) => `${hole}${bentBy(note.holeBends?.[i] ?? 0)}`);
    const [between, how] = note.shake === true ? [' and ', 'in turn, a shake'] : [', ', 'at once'];
    return `${all.join(between)} ${note.breath} ${how}`;
  }
  return `${note.hole} ${note.breath}${bentBy(note.bend)}`;
}

const bentBy = (semitones: number): string => (semitones > 0 ? ` bent by ${semitones}` : '');

function inTune(state: UiState, note: Note): string {
  const cents = Math.round(note.cents);
  if (note.flags.includes(UNMEASURED)) return 'pitch not measured';
  if (contradicts(state, note)) return contradictionText(state, note);
  return cents === 0
    ? 'in tune'
    : `${Math.abs(cents)} ${Math.abs(cents) === 1 ? 'cent' : 'cents'} ${cents < 0 ? 'flat' : 'sharp'}`;
}

function certainty(note: Note): string {
  if (note.flags.includes(CORRECTED)) return 'corrected by you';
  if (note.flags.includes(ACCEPTED)) return 'confirmed by you';
  return `${Math.min(99, Math.round(100 * note.confidence))} % sure`;
}

/** An ornament with its measure. */
function ornamentInWords(ornament: NoteOrnament): string {
  if (ornament.unmeasured === true) return `${ornament.kind}, as you say`;
  const inCents = (cents: number) => `${Math.abs(Math.round(cents))} cents`;
  const often = (hz: number) => `${hz.toFixed(1)} a second`;
  switch (ornament.kind) {
    case 'shake':
      return `shake, ${Math.round(ornament.notesPerSec)} notes a second`;
    case 'scoop':
      return `scooped ${ornament.fromCents < 0 ? 'up' : 'down'} ${inCents(ornament.fromCents)} in ${ornament.durationSec.toFixed(2)} s`;
    case 'fall':
      return `${ornament.toCents < 0 ? 'falls' : 'rises'} off ${inCents(ornament.toCents)} in ${ornament.durationSec.toFixed(2)} s`;
    case 'vibrato':
      return `vibrato ${inCents(ornament.depthCents)}, ${often(ornament.rateHz)}`;
    case 'tremolo':
      return `tremolo ${Math.round(ornament.depthDb)} dB, ${often(ornament.rateHz)}`;
    case 'hand':
      return `hand opens and closes ${ornament.rateHz === undefined ? `${ornament.changes} times` : often(ornament.rateHz)}`;
  }
}

/** Two rows about the current note. */
export function noteView(state: UiState): Line[] {
  const { notes, harp } = state.edited.take;
  const note = notes[state.at];
  if (note === undefined) return [[span('no notes')], []];
  const target = findPlayable(state.playable, note);
  const name =
    target === undefined ? '' : ` = ${noteName(target.midi, parseHarpKey(harp.key).tonicMidi % 12)}`;
  const others = note.alternatives
    .filter(({ confidence }) => confidence >= LEAST_SHOWN)
    .slice(0, MOST_SHOWN)
    .map((other) => `${formatTabNote(other)} ${Math.round(100 * other.confidence)} %`);
  const isNarrow = state.size.columns < NARROW_COLUMNS;
  const doubt = isDoubtful(note) ? ({ colour: 'magenta', bold: true } as const) : undefined;
  return [
    [
      span(formatTabNote(note), { bold: true }),
      span(`  ${inWords(note)}${name}  ${inTune(state, note)}  `),
      span(`${isDoubtful(note) ? '? ' : ''}${certainty(note)}`, doubt),
      ...(others.length > 0 ? [span(`  or ${others.join(', ')}`)] : []),
    ],
    [
      span(`note ${state.at + 1} of ${notes.length}  `),
      span(
        `${fineClock(note.onsetSec)}${isNarrow ? '' : ` to ${fineClock(note.offsetSec)}`} (${(note.offsetSec - note.onsetSec).toFixed(2)} s)`,
      ),
      ...ornamentsOf(note).map((ornament) =>
        span(`  ${isNarrow ? ornament.kind : ornamentInWords(ornament)}`),
      ),
      span(`  ${STARTS[note.start]}`),
      ...(note.leak === null || (note.holes?.includes(note.leak.hole) ?? false)
        ? []
        : [
            span(`  hole ${note.leak.hole} leaks (${Math.round(note.leak.levelDb)} dB)`, {
              colour: 'red',
            } as const),
          ]),
    ],
  ];
}
