import { leftOutMarks } from './state/left-out.ts';
import type { Mode, PromptMode, UiState } from './state/state.ts';
import { alignTyped, lostSyllables } from './state/typed-words.ts';

/** One thing that keys do. The hints on the screen, the help and the keyboard itself are made from these rows. */
export interface KeyRow {
  readonly id: string;
  /** Names of keys: characters as they are, the others in words (`left`, `enter`, `ctrl-s`). */
  readonly keys: readonly string[];
  /** How the keys are printed. */
  readonly show: string;
  /** One or two words for the bottom of the screen. */
  readonly label: string;
  /** A sentence for the help. */
  readonly help: string;
  readonly group: string;
  /** Whether it does anything now; always if missing. */
  when?(state: UiState): boolean;
}

const hasNotes = (state: UiState) => state.edited.take.notes.length > 0;
const canHear = (state: UiState) => hasNotes(state) && state.hasPlayer;
const canHearRecording = (state: UiState) => canHear(state) && state.recording === 'ready';

/** The word that must be typed to discard changes, so that it can't happen by accident. */
export const DISCARD = 'discard';

const row = (
  group: string,
  id: string,
  keys: readonly string[],
  show: string,
  label: string,
  help: string,
  when?: KeyRow['when'],
): KeyRow => ({ id, keys, show, label, help, group, ...(when === undefined ? {} : { when }) });

const HOLE_KEYS = ['1', '2', '3', '4', '5', '6', '7', '8', '9', '0'];

// biome-ignore format: a table, one row a line
const NOTES: readonly KeyRow[] = [
  row('Go', 'mark-next', ['tab', 'shift-tab'], 'Tab', 'next to check', 'the next place to check, in time order; with Shift the previous one'),
  row('Go', 'note', ['left', 'right'], '←→', 'note', 'the previous or next note', hasNotes),
  row('Go', 'phrase', ['up', 'down', 'pageup', 'pagedown', 'wheel-up', 'wheel-down'], '↑↓', 'phrase', 'the previous or next phrase; so does the wheel', hasNotes),
  row('Go', 'ends', ['home', 'end'], 'Home End', 'ends', 'the first note, the last note', hasNotes),
  row('Go', 'find', ['/'], '/', 'go to', 'a time, a hole, flat, sharp, leak, unsure, a word; empty: again', hasNotes),
  row('Go', 'overview', ['j'], 'j', 'all phrases', 'a list of all phrases, to jump to one', hasNotes),
  row('Go', 'left-out', ['L'], 'L', 'left out', 'the next sound that was left out: Space makes it a note', (s) => leftOutMarks(s).length > 0),
  row('Correct', 'cure', [' '], 'Space', 'as heard', 'writes what is heard; on any other note, the next likely hole'),
  row('Correct', 'pass', ['enter'], 'Enter', 'keep', 'keeps it as it is and goes on to the next place'),
  row('Correct', 'hole', HOLE_KEYS, '0-9', 'hole', 'this hole (0 is 10), with the breath and bend that fit best', hasNotes),
  row('Correct', 'breath', ['b', 'd'], 'b d', 'blow draw', 'blow or draw on the same hole, with the bend that fits', hasNotes),
  row('Correct', 'bend', ["'"], "'", 'deeper bend', 'bends it a semitone deeper; after the deepest, not at all', hasNotes),
  row('Correct', 'shallower', ['"'], '"', 'shallower', 'bends it a semitone less', hasNotes),
  row('Correct', 'bend-by', ['v'], 'v 0-3', 'bend by', 'bends it by the number of semitones you type', hasNotes),
  row('Correct', 'over', ['o'], 'o', 'overbend', 'an overblow or overdraw, or not', hasNotes),
  row('Correct', 'along', ['+'], '+ 0-9', 'add hole', 'adds a hole that sounds too (-4+5), or drops it; + w: shake (-4w5)', hasNotes),
  row('Correct', 'ornament', ['O'], 'O s f v t h', 'ornament', 'O and s scoop, f fall, v vibrato, t tremolo, h hand; a range too', hasNotes),
  row('Correct', 'undo', ['u', 'ctrl-z'], 'u', 'undo', 'undoes the last change, as far back as you like (also Ctrl-Z)', (s) => s.edited.done.length > 0),
  row('Correct', 'redo', ['r', 'ctrl-y'], 'r', 'redo', 'redoes it (also Ctrl-Y)', (s) => s.edited.undone.length > 0),
  row('Notes', 'onset', [',', '.'], ', .', 'start', 'starts the note 10 ms earlier, later; moves a range as a whole', hasNotes),
  row('Notes', 'offset', [';', ':'], '; :', 'end', 'ends the note 10 ms earlier, later', hasNotes),
  row('Notes', 'split', ['s'], 's', 'split', 'splits a note in two, at the dip if there is one', hasNotes),
  row('Notes', 'merge', ['m'], 'm', 'join', 'joins this note and the next', hasNotes),
  row('Notes', 'insert', ['i', 'I'], 'i', 'add', 'adds a note in the gap after this one; I: before it'),
  row('Notes', 'delete', ['x', 'delete', 'backspace'], 'x', 'delete', 'deletes this note, or the range', hasNotes),
  row('Several', 'extend', ['shift-left', 'shift-right'], 'Shift-←→', 'mark', 'marks notes one by one for what follows', hasNotes),
  row('Several', 'mark', ['*'], '*', 'mark from here', 'starts a range here, without Shift; again ends it', hasNotes),
  row('Several', 'hole-by', ['<', '>'], '< >', 'a hole lower, higher', 'the note or the range a hole lower, a hole higher', hasNotes),
  row('Several', 'octave', ['(', ')'], '( )', 'octave', 'the note or the range an octave lower, an octave higher', hasNotes),
  row('Several', 'alike', ['a'], 'a', 'similar notes', 'shows which notes sound like this one; again makes them the same', hasNotes),
  row('Several', 'carry', ['c'], 'c', 'copy to repeats', 'copies this phrase to its repeats', hasNotes),
  row('Tune', 'phrase-break', ['k'], 'k', 'phrase break', 'starts a phrase here, or joins it to the one before', hasNotes),
  row('Tune', 'other-phrase', ['K'], 'K', 'to other phrase', 'moves the range to the neighbouring phrase, or makes it a phrase', hasNotes),
  row('Tune', 'section', ['n'], 'n', 'section name', 'a name for the section that begins here; Tab: the form, as AABA', hasNotes),
  row('Tune', 'bars', ['y'], 'y', 'bars', 'metre, tempo, free time, and beat 1 on this note', hasNotes),
  row('Tune', 'words', ['w'], 'w', 'words', 'words under this phrase', hasNotes),
  row('Tune', 'title', ['T'], 'T', 'title', 'the title of the tune'),
  row('Tune', 'advice', ['N'], 'N', "teacher's note", "the teacher's note on this phrase; Tab: on the whole take", hasNotes),
  row('Tune', 'harp', ['h'], 'h', 'harp', 'another harp, tuning or A4: all but corrected notes are read again'),
  row('Hear', 'hear-note', ['p'], 'p', 'note', 'this note', canHear),
  row('Hear', 'hear-phrase', ['f'], 'f', 'phrase', 'this phrase', canHear),
  row('Hear', 'hear-take', ['g'], 'g', 'from here', 'from this note to the end', canHear),
  row('Hear', 'loop', ['l'], 'l', 'loop', 'this phrase in a loop', canHear),
  row('Hear', 'hear-what', ['t'], 't', 'recording or tab', 'the recording, the tab as sound, or both at once', canHearRecording),
  row('Hear', 'speed', ['e'], 'e', 'speed', 'full, three quarters or half speed, at the same pitch', canHear),
  row('Hear', 'hear-typed', ['z'], 'z', 'play what I type', 'plays each hole as you type it, or not', canHear),
  row('Take', 'save', ['ctrl-s'], 'Ctrl-S', 'save', 'saves the take'),
  row('Take', 'mouse', ['M'], 'M', 'mouse', 'a click goes to a note; M leaves the mouse to the terminal', () => true),
  row('Take', 'help', ['?'], '?', 'help', 'explains every key'),
  row('Take', 'quit', ['q', 'ctrl-c'], 'q', 'quit', 'quits; asks first if changes are not saved'),
];

// biome-ignore format: a table, one row a line
const PLAYING: readonly KeyRow[] = [
  row('Hear', 'stop', ['escape'], 'Esc', 'stop, back', 'stops the sound and goes back to where it started', (s) => s.playing !== null),
  row('Hear', 'stop-here', ['enter'], 'Enter', 'stop here', 'stops the sound and stays on that note', (s) => s.playing !== null),
];

/** Prompts that can be for one phrase or for the whole take. */
export const OTHER_PROMPT: Readonly<Partial<Record<PromptMode['what'], PromptMode['what']>>> = {
  advice: 'advice-all',
  'advice-all': 'advice',
  section: 'form',
  form: 'section',
};

// biome-ignore format: a table, one row a line
const PROMPT: readonly KeyRow[] = [
  row('Line', 'prompt-done', ['enter'], 'Enter', 'done', 'does it'),
  row('Line', 'prompt-other', ['tab'], 'Tab', 'this one or all', 'for this phrase, or for the whole take', ({ mode }) => mode.kind === 'prompt' && mode.what in OTHER_PROMPT),
  row('Line', 'prompt-rub', ['backspace'], 'Backspace', 'delete', 'deletes a character'),
  row('Line', 'prompt-leave', ['escape', 'ctrl-c'], 'Esc', 'cancel', 'closes the line'),
];

// biome-ignore format: a table, one row a line
const WORDS: readonly KeyRow[] = [
  row('Words', 'words-done', ['enter'], 'Enter', 'done', 'puts the words under the notes'),
  row('Words', 'words-leave', ['escape', 'ctrl-c'], 'Esc', 'cancel', 'leaves the words as they were'),
  row('Words', 'type', [], '-', 'splits a word', 'between syllables'),
  row('Words', 'type', [], '_', 'holds', 'holds the syllable before over one more note'),
  row('Words', 'type', [], '*', 'no syllable', 'leaves a note without a syllable; the rest move on'),
  row('Words', 'join', ['='], '=', 'joins', 'two words on one note, written ~'),
  row('Words', 'caret', ['left', 'right', 'home', 'end'], '←→', 'move', 'moves in the line'),
  row('Words', 'rub', ['backspace', 'delete'], 'Backspace', 'delete', 'deletes a character'),
  row('Words', 'split-words', ['tab'], 'Tab', 'split words', 'syllables, also of lines just pasted; again: another language'),
  row('Words', 'words-phrase', ['up', 'down'], '↑↓', 'phrase', 'keeps the line and goes to the phrase before or after'),
  row('Words', 'words-rest', ['ctrl-r'], 'Ctrl-R', 'rest to next phrase', 'moves words without a note to the next phrase', (s) => s.mode.kind === 'words' && alignTyped(s).over > 0),
  row('Words', 'words-back', ['ctrl-g'], 'Ctrl-G', 'restore', 'restores syllables that have lost their note', (s) => s.mode.kind === 'words' && lostSyllables(s).length > 0),
  row('Words', 'words-verse', ['pageup', 'pagedown'], 'PgUp PgDn', 'verse', 'keeps the line and goes to the verse before or after'),
  row('Words', 'words-new-verse', ['ctrl-n'], 'Ctrl-N', 'new verse', 'keeps the line and begins one more verse'),
];

// biome-ignore format: a table, one row a line
const HARP: readonly KeyRow[] = [
  row('Harp', 'field', ['up', 'down', 'tab'], '↑↓', 'setting', 'key, tuning, A4 or temperament'),
  row('Harp', 'value', ['left', 'right'], '←→', 'change', 'the previous or next value'),
  row('Harp', 'harp-done', ['enter'], 'Enter', 'read again', 'reads all notes on this harp'),
  row('Harp', 'harp-leave', ['escape', 'ctrl-c', 'q'], 'Esc', 'cancel', 'leaves the harp as it was'),
];

// biome-ignore format: a table, one row a line
const HELP: readonly KeyRow[] = [
  row('Help', 'scroll', ['up', 'down', 'pageup', 'pagedown', ' '], '↑↓', 'more', 'more', (s) => s.mode.kind === 'help' && s.mode.last > 0),
  row('Help', 'back', ['escape', 'enter', '?', 'q', 'ctrl-c'], 'Esc', 'back', 'back to the notes'),
];

// biome-ignore format: a table, one row a line
const QUIT: readonly KeyRow[] = [
  row('Quit', 'save-quit', ['enter', 's', 'ctrl-s'], 'Enter', 'save', 'saves the take and quits'),
  row('Quit', 'keep-quit', ['k'], 'k', 'keep for next time', 'quits; the changes wait beside the take', (s) => s.journal.kind !== 'failed'),
  row('Quit', 'drop-quit', ['d'], DISCARD, 'throw them away', 'type the word, then Enter; the take stays as it was saved'),
  row('Quit', 'back', ['escape', 'q', 'ctrl-c'], 'Esc', 'go on', 'back to the notes'),
];

// biome-ignore format: a table, one row a line
const RECOVER: readonly KeyRow[] = [
  row('Recover', 'recover', ['enter'], 'Enter', 'restore them', 'goes on where you left off', (s) => s.mode.kind === 'recover' && s.mode.recovery.kind === 'edits'),
  row('Recover', 'set-aside', ['d'], 'd', 'put them aside', 'starts from the saved take; keeps them in a file'),
  row('Recover', 'leave', ['escape', 'q', 'ctrl-c'], 'Esc', 'quit', 'quits and changes nothing'),
];

const theirs = ({ mode }: UiState) => (mode.kind === 'conflict' ? mode.theirs : null);

// biome-ignore format: a table, one row a line
const CONFLICT: readonly KeyRow[] = [
  row('Conflict', 'merge', ['m'], 'm', 'both', 'merges your changes with theirs: they concern different notes', ({ mode }) => mode.kind === 'conflict' && mode.merge !== null),
  row('Conflict', 'mine-elsewhere', ['f'], 'f', 'mine to another file', 'saves yours to another file; goes on here with what is there now'),
  row('Conflict', 'theirs', ['t'], 't', 'theirs', 'goes on with what is there; yours are put aside', (s) => theirs(s) !== null),
  row('Conflict', 'write-again', ['w'], 'w', 'mine here', 'saves your take here', (s) => theirs(s) === null),
  row('Conflict', 'back', ['escape', 'ctrl-c', 'q'], 'Esc', 'go on', 'back to the notes; nothing is saved yet'),
];

// biome-ignore format: a table, one row a line
const BEND: readonly KeyRow[] = [
  row('Bend', 'bend-to', ['0', '1', '2', '3'], '0-3', 'semitones', 'bends it by this many semitones; 0 for none'),
  row('Bend', 'back', ['escape', 'ctrl-c'], 'Esc', 'back', 'leaves it as it is'),
];

// biome-ignore format: a table, one row a line
const ALONG: readonly KeyRow[] = [
  row('Along', 'along-hole', HOLE_KEYS, '0-9', 'hole', 'adds the hole, or drops it'),
  row('Along', 'along-shake', ['w'], 'w', 'shake', 'a shake, or both holes at once'),
  row('Along', 'back', ['escape', 'ctrl-c'], 'Esc', 'back', 'leaves it as it is'),
];

// biome-ignore format: a table, one row a line
const ORNAMENT: readonly KeyRow[] = [
  row('Ornament', 'ornament-kind', ['s'], 's', 'scoop', 'slides up into the note'),
  row('Ornament', 'ornament-kind', ['f'], 'f', 'fall', 'slides off it at its end'),
  row('Ornament', 'ornament-kind', ['v'], 'v', 'vibrato', 'the pitch swings'),
  row('Ornament', 'ornament-kind', ['t'], 't', 'tremolo', 'the level swings'),
  row('Ornament', 'ornament-kind', ['h'], 'h', 'hand', 'the hands open and close'),
  row('Ornament', 'ornament-none', ['0', 'x'], '0', 'none', 'played plainly'),
  row('Ornament', 'back', ['escape', 'ctrl-c'], 'Esc', 'back', 'leaves it as it is'),
];

// biome-ignore format: a table, one row a line
const OVERVIEW: readonly KeyRow[] = [
  row('Phrases', 'overview-move', ['up', 'down', 'pageup', 'pagedown', 'home', 'end', 'wheel-up', 'wheel-down'], '↑↓', 'phrase', 'the phrase before, after; also by pages'),
  row('Phrases', 'overview-mark', ['tab', 'shift-tab'], 'Tab', 'next to check', 'the next phrase with something to check'),
  row('Phrases', 'overview-go', ['enter', ' '], 'Enter', 'go there', 'to its first note'),
  row('Phrases', 'back', ['escape', 'j', 'q', 'ctrl-c'], 'Esc', 'back', 'back to where you were'),
];

const TABLES: Readonly<Record<Mode['kind'], readonly KeyRow[]>> = {
  notes: NOTES,
  prompt: PROMPT,
  words: WORDS,
  harp: HARP,
  bend: BEND,
  along: ALONG,
  ornament: ORNAMENT,
  overview: OVERVIEW,
  conflict: CONFLICT,
  help: HELP,
  quit: QUIT,
  recover: RECOVER,
};

/** The rows that do something now. */
export function keysNow(state: UiState): KeyRow[] {
  const rows = TABLES[state.mode.kind].filter((each) => each.when?.(state) ?? true);
  if (state.mode.kind !== 'notes' || state.playing === null) return rows;
  // While something is playing, these keys control it.
  const taken = new Set(PLAYING.flatMap(({ keys }) => keys));
  return [...PLAYING, ...rows.filter(({ keys }) => !keys.some((key) => taken.has(key)))];
}

/** What a key does now; undefined when nothing. */
export function commandOf(state: UiState, key: string): string | undefined {
  return keysNow(state).find(({ keys }) => keys.includes(key))?.id;
}

/** Keys that play something, where anything can be played. */
export const HEAR_KEYS: ReadonlySet<string> = new Set(
  NOTES.filter(({ group }) => group === 'Hear').flatMap(({ keys }) => keys),
);

/** All rows that the help explains. */
export const HELP_ROWS: readonly KeyRow[] = [...NOTES, ...PLAYING, ...WORDS, ...HARP];
