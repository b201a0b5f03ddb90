import { splitGraphemes } from '../../../text/graphemes.ts';
import { PASTED } from '../../input.ts';
import type { Step } from '../../state/state.ts';
import { type CommandContext, still } from '../act.ts';
import {
  carryRest,
  getBack,
  goPhrase,
  goVerse,
  keep,
  leave,
  moveCaret,
  newVerse,
  rub,
  type,
} from './line.ts';
import { askToSplit, paste } from './paste.ts';

/** What a key does while words are typed; keys without a command are text. */
export function wordsKey(context: CommandContext, command: string | undefined): Step {
  const { state, key } = context;
  switch (command) {
    case 'words-done':
      return keep(context);
    case 'words-leave':
      return leave(context);
    case 'caret':
      return still(moveCaret(state, key));
    case 'rub':
      return still(rub(state, key));
    case 'words-phrase':
      return goPhrase(context);
    case 'words-verse':
      return goVerse(context);
    case 'words-new-verse':
      return newVerse(context);
    case 'words-rest':
      return carryRest(context);
    case 'words-back':
      return still(getBack(state));
    case 'split-words':
      return askToSplit(state);
    case 'join':
      return still(type(state, '~'));
    default:
      if (key.startsWith(PASTED)) return paste(context, key.slice(PASTED.length));
      return still(key.length === 1 || splitGraphemes(key).length === 1 ? type(state, key) : state);
  }
}
