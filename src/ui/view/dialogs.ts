import { type LanguageCode, languageName } from '../../music/words/languages.ts';
import { counted } from '../../text/counted.ts';
import { splitGraphemes } from '../../text/graphemes.ts';
import { textColumns } from '../../text/width.ts';
import { keysNow } from '../keys.ts';
import { type ConflictMode, HARP_FIELDS, type Mode, type UiState, unsavedCount } from '../state/state.ts';
import { alignTyped, verseCount } from '../state/typed-words.ts';
import { cutLine, type Line, padText, plain, span } from './line.ts';

function answers(state: UiState): Line[] {
  return keysNow(state).map(({ show, label, help }) => [
    span(`  ${padText(show, 9)}`, { bold: true }),
    span(label),
    span(help === label ? '' : `: ${help}`, { dim: true }),
  ]);
}

function quitLines(state: UiState, { word }: Mode & { kind: 'quit' }): Line[] {
  const count = unsavedCount(state);
  const risk =
    state.journal.kind === 'failed'
      ? [plain('The journal could not be written: anything you do not save now is lost.')]
      : [];
  return [
    [span(`${count} ${count === 1 ? 'change is' : 'changes are'} not saved in the take.`, { bold: true })],
    ...risk,
    [],
    ...answers(state),
    ...(word === '' ? [] : [[], [span('> '), span(word), span(' ', { inverse: true })]]),
  ];
}

function recoverLines(state: UiState, { recovery }: Mode & { kind: 'recover' }): Line[] {
  if (recovery.kind === 'foreign') {
    return [
      [
        span(`${recovery.count} unsaved changes were left here, for another version of this take.`, {
          bold: true,
        }),
      ],
      plain("The take was changed or transcribed again since, so they can't be restored."),
      [],
      ...answers(state),
    ];
  }
  const count = recovery.edits.length;
  const last = recovery.edits[count - 1].at.replace('T', ' ').replace(/\..*/, ' UTC');
  return [
    [
      span(
        `${count} ${count === 1 ? 'change was' : 'changes were'} not saved last time, the last of ${last}.`,
        { bold: true },
      ),
    ],
    ...(recovery.damaged
      ? [plain("The end of the journal is damaged: anything after that can't be read.")]
      : []),
    [],
    ...answers(state),
  ];
}

function conflictLines(state: UiState, { theirs, merge }: ConflictMode): Line[] {
  const what =
    theirs === null
      ? `Since you opened it, '${state.name}' was deleted or is no longer a take.`
      : `Another program has changed '${state.name}' since you opened it.`;
  const both =
    theirs === null || merge !== null ? [] : [plain('Both of you changed the same notes or parts.')];
  return [[span(what, { bold: true })], plain('Nothing is saved yet.'), ...both, [], ...answers(state)];
}

function harpLines({ field, draft }: Mode & { kind: 'harp' }): Line[] {
  const values = [draft.key, draft.tuning, `${draft.a4Hz.toFixed(1)} Hz`, draft.temperament];
  return [
    [span('Which harp was it?', { bold: true })],
    plain('All notes are read again on it; those you corrected or confirmed stay.'),
    [],
    ...HARP_FIELDS.map((name, i): Line => {
      const here = i === field;
      return [
        span(`${here ? '▶' : ' '} ${padText(name, 13)}`),
        span(here ? `← ${values[i]} →` : `  ${values[i]}`, here ? { bold: true, inverse: true } : undefined),
      ];
    }),
  ];
}

/** The line that is being typed, with its caret, scrolled into view. */
function typedLine(text: string, caret: number, columns: number): Line {
  const characters = splitGraphemes(text);
  let before = characters.slice(0, caret).join('');
  while (textColumns(before) > columns - 12) before = splitGraphemes(before).slice(1).join('');
  const under = characters[caret] ?? ' ';
  return cutLine(
    [span('> '), span(before), span(under, { inverse: true }), span(characters.slice(caret + 1).join(''))],
    columns,
  );
}

function wordsLines(state: UiState, mode: Mode & { kind: 'words' }, columns: number): Line[] {
  const { syllables, over, ids } = alignTyped(state);
  const verses = `, verse ${state.verse} of ${Math.max(state.verse, verseCount(state))}`;
  const laid = syllables.reduce((sum, { noteId, holds }) => sum + (noteId === null ? 0 : 1 + holds), 0);
  const rest =
    over > 0
      ? `  ${over} without a note`
      : ids.length > laid
        ? `  ${counted(ids.length - laid, 'note')} to go`
        : '  fits';
  return [
    [
      span(`Words under this phrase${verses}`, { bold: true }),
      span(mode.split === null ? '' : `  split as ${languageName(mode.split.language as LanguageCode)}`),
    ],
    typedLine(mode.text, mode.caret, columns),
    [span(`${counted(laid, 'note')} sung${rest}`, over > 0 ? { colour: 'red', bold: true } : undefined)],
    [],
    plain('-  between syllables: Su-san-na        _  holds over one more note: oh_'),
    plain('*  skips a note: the rest move on       =  two words on one note: of~the'),
    plain('Ctrl-R moves words without a note to the next phrase.'),
  ];
}

/** The dialog shown instead of the pitch picture; null for none. */
export function dialogView(state: UiState, columns: number): Line[] | null {
  const { mode } = state;
  const lines =
    mode.kind === 'quit'
      ? quitLines(state, mode)
      : mode.kind === 'recover'
        ? recoverLines(state, mode)
        : mode.kind === 'conflict'
          ? conflictLines(state, mode)
          : mode.kind === 'harp'
            ? harpLines(mode)
            : mode.kind === 'words'
              ? wordsLines(state, mode, columns)
              : null;
  return lines?.map((line) => cutLine(line, columns)) ?? null;
}
