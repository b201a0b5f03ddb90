import type { Key } from 'ink';
import { splitGraphemes } from './line.ts';

/** Keys that a terminal sends as characters. */
const CONTROL_NAMES: Readonly<Record<string, string>> = {
  '\r': 'enter',
  '\n': 'enter',
  '\t': 'tab',
  '\b': 'backspace',
  '\u007f': 'backspace',
  '\u001b': 'escape',
  '\u0003': 'ctrl-c',
  '\u0013': 'ctrl-s',
  '\u0019': 'ctrl-y',
  '\u001a': 'ctrl-z',
};

const NAMED = [
  ['upArrow', 'up'],
  ['downArrow', 'down'],
  ['leftArrow', 'left'],
  ['rightArrow', 'right'],
  ['pageUp', 'pageup'],
  ['pageDown', 'pagedown'],
  ['home', 'home'],
  ['end', 'end'],
  ['return', 'enter'],
  ['backspace', 'backspace'],
  ['escape', 'escape'],
] as const;

/**
 * Names of the keys that were pressed, in order. Fast typing and pasting come as one text and are taken apart, so that
 * no key is lost.
 */
export function keysOf(input: string, key: Key): string[] {
  // Most terminals send for Backspace what ink calls delete; it can't tell the Delete key from that.
  if (key.delete) return ['backspace'];
  if (key.tab) return [key.shift ? 'shift-tab' : 'tab'];
  for (const [flag, name] of NAMED) if (key[flag]) return [name];
  // Escape and a character so fast after each other that they look like Alt with it.
  if (key.meta && input.length === 1) return ['escape', input];
  if (key.ctrl) return input.length === 1 ? [`ctrl-${input}`] : [];
  // What is left of a sequence that ink doesn't know, such as the marks around pasted text.
  if (/^\[\d*[~A-Za-z]$/.test(input) && input.length > 2) return [];
  return splitGraphemes(input.replace(/\r\n/g, '\r')).map(
    (character) => CONTROL_NAMES[character] ?? character,
  );
}
