import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { KeyParser } from '../../src/ui/input.ts';

const keysOf = (...pieces: string[]) => {
  const parser = new KeyParser();
  const keys = pieces.flatMap((piece) => parser.push(piece));
  return [...keys, ...parser.flush()];
};

// Sequences: XTerm Control Sequences, "PC-Style Function Keys" and "VT220-Style Function Keys".
const SEQUENCES = [
  ['\u001b[A', 'up'],
  ['\u001bOA', 'up'],
  ['\u001b[B', 'down'],
  ['\u001b[C', 'right'],
  ['\u001b[D', 'left'],
  ['\u001b[H', 'home'],
  ['\u001b[1~', 'home'],
  ['\u001b[F', 'end'],
  ['\u001b[4~', 'end'],
  ['\u001b[3~', 'delete'],
  ['\u001b[5~', 'pageup'],
  ['\u001b[6~', 'pagedown'],
  ['\u001b[Z', 'shift-tab'],
  ['\u001b[1;5C', 'right'],
  ['\u001b[1;2C', 'shift-right'],
  ['\u001b[1;2D', 'shift-left'],
  // SGR mouse reports: button 0 pressed, wheel up and down (buttons 64 and 65).
  ['\u001b[<0;20;7M', 'click:19,6'],
  ['\u001b[<64;1;1M', 'wheel-up'],
  ['\u001b[<65;1;1M', 'wheel-down'],
] as const;

describe('what a terminal sends', () => {
  it.each(SEQUENCES)('%j is %s', (sequence, name) => {
    expect(keysOf(sequence)).toEqual([name]);
  });

  it.each([
    ['\r', ['enter']],
    ['\t\t', ['tab', 'tab']],
    ['\u007f', ['backspace']],
    ['\u0013\u0003', ['ctrl-s', 'ctrl-c']],
    ["a'b 5", ['a', "'", 'b', ' ', '5']],
    ['e\u0301日', ['e\u0301', '日']],
    ['\u001b', ['escape']],
    ['\u001b?', ['escape', '?']],
    ['\u001b\u001b[A', ['escape', 'up']],
    ['x\u001b[Cy', ['x', 'right', 'y']],
    ['\u001b[200~one\rtwo\u001b[201~q', ['paste:one\rtwo', 'q']],
    ['\u001b[99~\u001b[I\u0001', []],
    // Buttons let go, moves, and reports of the old kind, whose bytes look like keys.
    ['\u001b[<0;20;7m\u001b[<35;1;1M', []],
    ['\u001b[M xq5', ['5']],
  ])('%j is %j', (text, keys) => {
    expect(keysOf(text)).toEqual(keys);
  });

  it('is the same in however many pieces it arrives', () => {
    const piece = fc.constantFrom(
      ...SEQUENCES.map(([sequence]) => sequence),
      'a',
      '5',
      '\t',
      '\u001b[200~x\u001b[201~',
    );
    fc.assert(
      fc.property(
        fc.array(piece, { maxLength: 8 }),
        fc.array(fc.nat(60), { maxLength: 6 }),
        (pieces, cuts) => {
          const text = pieces.join('');
          const at = [0, ...cuts.map((cut) => Math.min(cut, text.length)).sort((a, b) => a - b), text.length];
          expect(keysOf(...at.slice(1).map((end, i) => text.slice(at[i], end)))).toEqual(keysOf(text));
        },
      ),
    );
  });

  it('waits for the rest of a sequence, and reads a lone Escape as the key', () => {
    const parser = new KeyParser();
    expect(parser.push('\u001b')).toEqual([]);
    expect(parser.isWaiting).toBe(true);
    expect(parser.push('[A')).toEqual(['up']);
    expect(parser.isWaiting).toBe(false);
    parser.push('\u001b');
    expect(parser.flush()).toEqual(['escape']);
    expect(parser.flush()).toEqual([]);
  });
});
