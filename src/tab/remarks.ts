import { DOUBTFUL, isSettled, MAYBE_TWO, NOISY } from './flags.ts';
import { DOUBTFUL_BELOW, type Note } from './note.ts';
import { formatTabNote, type TabStyle } from './text.ts';
import { BEND_TOLERANCE_CENTS } from './tolerance.ts';

/**
 * Beyond this an unbent note is out of tune (common practice, no source); for bends the limit is the same everywhere.
 */
const FAULT_CENTS = { plain: 20, bent: BEND_TOLERANCE_CENTS } as const;
/**
 * A weaker second reed stays in the take but is not remarked on: of 8 such remarks in samples/homework-kitchen 5 are
 * wrong.
 */
const LEAK_FROM_DB = -20;

/** True when the reader should look at the note again. */
export function isDoubtful(note: Note): boolean {
  const isFlagged = note.flags.includes(DOUBTFUL) || note.flags.includes(MAYBE_TWO);
  return !isSettled(note) && (isFlagged || note.confidence < DOUBTFUL_BELOW);
}

/**
 * What is doubtful about a note: its hole, whether it was struck once or twice, or whether it is a single note at all.
 */
export function doubtOf(note: Note): 'hole' | 'two' | 'note' {
  if (note.flags.includes(DOUBTFUL)) return 'hole';
  if (note.flags.includes(MAYBE_TWO)) return 'two';
  const claim = note.confidence + note.alternatives.reduce((sum, { confidence }) => sum + confidence, 0);
  return note.confidence / claim < claim ? 'hole' : 'note';
}

/** Cents out of tune if worth a remark, else 0; very short notes (no intonation) are not judged. */
function outOfTuneCents(note: Note): number {
  const limit = note.bend > 0 || note.over ? FAULT_CENTS.bent : FAULT_CENTS.plain;
  return note.intonation !== null && Math.abs(note.cents) > limit ? Math.round(note.cents) : 0;
}

/** Hole of a second reed if worth a remark, else null. */
function leakingHole({ leak }: Note): number | null {
  return leak !== null && leak.levelDb >= LEAK_FROM_DB ? leak.hole : null;
}

/** What is doubtful about a note, as written below its tab: `note?`, `two?`, `or 3?`. */
export function doubtInWords(note: Note, style: TabStyle): string {
  const doubt = doubtOf(note);
  if (doubt !== 'hole') return `${doubt}?`;
  const other = note.alternatives[0];
  return other === undefined ? 'hole?' : `or ${formatTabNote(other, style)}?`;
}

/** Faults of one note in words, cents and holes in figures: `flat 31`, `leak #5`. */
export function faultsOf(note: Note): string[] {
  const faults: string[] = [];
  const cents = outOfTuneCents(note);
  if (cents !== 0) faults.push(`${cents < 0 ? 'flat' : 'sharp'} ${Math.abs(cents)}`);
  const leaking = leakingHole(note);
  if (leaking !== null) faults.push(`leak #${leaking}`);
  return faults;
}

/** Doubt and faults of one note in words, one per row. */
export function remarksOn(note: Note, style: TabStyle): string[] {
  return [...(isDoubtful(note) ? [doubtInWords(note, style)] : []), ...faultsOf(note)];
}

/** Explains those remarks below the tab that occur. */
export function remarkLegend(notes: readonly Note[]): string {
  const doubts = new Set(notes.filter(isDoubtful).map(doubtOf));
  const meanings = [
    doubts.has('hole') && '"or …?" doubtful hole',
    doubts.has('two') && '"two?" may be played twice',
    doubts.has('note') && '"note?" may be none, a piece of one, or several',
    notes.some((note) => outOfTuneCents(note) !== 0) && '"flat", "sharp" in cents',
    notes.some((note) => leakingHole(note) !== null) && '"leak #5" hole 5 sounds too',
  ];
  return meanings.filter((meaning) => meaning !== false).join(' · ');
}

/** Says how many notes can't be judged, and why; empty when all can. */
export function unjudgedInWords(notes: readonly Note[]): string {
  const noisy = notes.filter(({ flags }) => flags.includes(NOISY)).length;
  if (noisy === 0) return '';
  const those = noisy === 1 ? 'One note is' : `${noisy} notes are`;
  return `${those} too noisy for pitch and second reeds to be judged.`;
}
