import { splitGraphemes } from '../text/graphemes.ts';

/** Keys that a terminal sends as one byte. */
const CONTROLS: Readonly<Record<string, string>> = {
  '\r': 'enter',
  '\n': 'enter',
  '\t': 'tab',
  '\b': 'backspace',
  '\u007f': 'backspace',
  '\u0003': 'ctrl-c',
  '\u0007': 'ctrl-g',
  '\u000e': 'ctrl-n',
  '\u0012': 'ctrl-r',
  '\u0013': 'ctrl-s',
  '\u0019': 'ctrl-y',
  '\u001a': 'ctrl-z',
};

/** Endings of sequences (ECMA-48 CSI and SS3, as xterm and the VT220 send them), without their numbers. */
const FINALS: Readonly<Record<string, string>> = {
  A: 'up',
  B: 'down',
  C: 'right',
  D: 'left',
  H: 'home',
  F: 'end',
  Z: 'shift-tab',
};
/** The same with Shift (xterm: `1;2` before the letter). */
const SHIFTED: Readonly<Record<string, string>> = { C: 'shift-right', D: 'shift-left' };
/** A mouse report (xterm, SGR 1006): button, column and row, pressed or released. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: sequences begin with one
const MOUSE = /^\u001b\[<(\d+);(\d+);(\d+)([Mm])/;
/** One of the old kind (X10): three bytes follow. */
const OLD_MOUSE = '\u001b[M';
const OLD_MOUSE_LENGTH = 6;
/** A key with this prefix is a click, followed by its column and row from 0: `click:12,3`. */
export const CLICKED = 'click:';
const NUMBERED: Readonly<Record<string, string>> = {
  '1': 'home',
  '3': 'delete',
  '4': 'end',
  '5': 'pageup',
  '6': 'pagedown',
  '7': 'home',
  '8': 'end',
};

const ESCAPE = '\u001b';
// biome-ignore lint/suspicious/noControlCharactersInRegex: sequences begin with one
const SEQUENCE = /^\u001b(?:\[([\d;?]*)([A-Za-z~])|O([A-Za-z]))/;
// biome-ignore lint/suspicious/noControlCharactersInRegex: sequences begin with one
const UNFINISHED = /^\u001b(?:\[[<\d;?]*|O)?$/;
const PASTE_BEGINS = '\u001b[200~';
const PASTE_ENDS = '\u001b[201~';

/** A key with this prefix is pasted text, which follows it. */
export const PASTED = 'paste:';

/**
 * Turns what a terminal sends into names of keys: characters as they are, other keys in words. Fast typing may arrive
 * as one text and a sequence in two pieces; pasted text stays together.
 */
export class KeyParser {
  #rest = '';

  /** The keys of another piece of input. */
  push(input: string): string[] {
    let text = this.#rest + input;
    this.#rest = '';
    const keys: string[] = [];
    while (text !== '') {
      if (text.startsWith(PASTE_BEGINS)) {
        const end = text.indexOf(PASTE_ENDS);
        if (end < 0) {
          this.#rest = text;
          break;
        }
        keys.push(PASTED + text.slice(PASTE_BEGINS.length, end));
        text = text.slice(end + PASTE_ENDS.length);
      } else if (text.startsWith(OLD_MOUSE)) {
        if (text.length < OLD_MOUSE_LENGTH) {
          this.#rest = text;
          break;
        }
        text = text.slice(OLD_MOUSE_LENGTH);
      } else if (MOUSE.test(text)) {
        text = text.slice(readMouse(text, keys));
      } else if (UNFINISHED.test(text)) {
        this.#rest = text;
        break;
      } else if (text.startsWith(ESCAPE)) {
        text = text.slice(readSequence(text, keys));
      } else {
        const end = text.indexOf(ESCAPE);
        const typed = end < 0 ? text : text.slice(0, end);
        for (const character of splitGraphemes(typed)) keys.push(...nameOf(character));
        text = text.slice(typed.length);
      }
    }
    return keys;
  }

  /** True when an Escape may be the beginning of a sequence: wait a little, then `flush`. */
  get isWaiting(): boolean {
    return this.#rest.startsWith(ESCAPE) && !this.#rest.startsWith(PASTE_BEGINS);
  }

  /** Called when nothing followed: what was waiting was the Escape key. */
  flush(): string[] {
    if (!this.isWaiting) return [];
    const typed = this.#rest.slice(1);
    this.#rest = '';
    return ['escape', ...typed];
  }
}

/** Reads one mouse report at the start of a text, and returns its length. */
function readMouse(text: string, keys: string[]): number {
  const [whole, button, column, row, state] = MOUSE.exec(text) as unknown as string[];
  if (button === '64') keys.push('wheel-up');
  else if (button === '65') keys.push('wheel-down');
  else if (button === '0' && state === 'M') keys.push(`${CLICKED}${Number(column) - 1},${Number(row) - 1}`);
  return whole.length;
}

/** Reads one sequence at the start of a text, and returns its length. */
function readSequence(text: string, keys: string[]): number {
  const match = SEQUENCE.exec(text);
  if (match === null) {
    keys.push('escape');
    return 1;
  }
  const [whole, numbers, final, final3] = match;
  const shifted = numbers === '1;2' ? SHIFTED[final] : undefined;
  const name = final === '~' ? NUMBERED[numbers.split(';')[0]] : (shifted ?? FINALS[final ?? final3]);
  if (name !== undefined) keys.push(name);
  return whole.length;
}

function nameOf(character: string): string[] {
  if (character === '\r\n') return ['enter'];
  const name = CONTROLS[character];
  if (name !== undefined) return [name];
  // Control bytes without a meaning here.
  return character < ' ' ? [] : [character];
}
