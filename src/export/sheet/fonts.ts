import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { create, type Font } from 'fontkit';
import { unpackWoff } from './woff.ts';

/** The two weights of the sheet. */
export type Weight = 'regular' | 'bold';

const WEIGHTS: Readonly<Record<Weight, number>> = { regular: 400, bold: 700 };
/** Source Sans 3 (SIL Open Font License 1.1), in parts by script. */
const FAMILY = 'source-sans-3';
/** The parts in the order in which they are searched for a letter. */
const PARTS = ['latin', 'latin-ext', 'vietnamese', 'cyrillic', 'cyrillic-ext', 'greek', 'greek-ext'] as const;
const FIRST_PART = 'latin';

const require = createRequire(import.meta.url);

/** A part of the font in one weight. */
export interface FontPart {
  readonly name: string;
  readonly weight: Weight;
  /** The font file, packed and unpacked (TrueType). */
  readonly woff: Buffer;
  readonly plain: Buffer;
  readonly font: Font;
}

const loaded = new Map<string, FontPart>();

function load(part: string, weight: Weight): FontPart {
  const name = `${FAMILY}-${part}-${WEIGHTS[weight]}-normal`;
  const known = loaded.get(name);
  if (known !== undefined) return known;
  const woff = readFileSync(require.resolve(`@fontsource/${FAMILY}/files/${name}.woff`));
  const plain = unpackWoff(woff);
  const entry = { name, weight, woff, plain, font: create(plain) as Font };
  loaded.set(name, entry);
  return entry;
}

/** Part of a text that one part of the font covers. */
export interface Run {
  readonly text: string;
  readonly part: FontPart;
}

/** A text split where the part of the font changes; letters that no part has are given to the first. */
export function runsOf(text: string, weight: Weight): Run[] {
  const runs: { text: string; part: FontPart }[] = [];
  for (const letter of text.normalize('NFC')) {
    const last = runs[runs.length - 1];
    const part = partFor(letter, weight, last?.part);
    if (last !== undefined && last.part === part) last.text += letter;
    else runs.push({ text: letter, part });
  }
  return runs;
}

function partFor(letter: string, weight: Weight, before: FontPart | undefined): FontPart {
  const code = letter.codePointAt(0)!;
  const holds = (part: FontPart) => part.font.hasGlyphForCodePoint(code);
  if (before !== undefined && holds(before)) return before;
  const name = PARTS.find((each) => holds(load(each, weight)));
  return load(name ?? FIRST_PART, weight);
}

/** Letters of a text that no part of the font has. */
export function missingLetters(text: string): string[] {
  const letters = new Set([...text.normalize('NFC')].filter((letter) => /[^\s\p{Cc}\p{Cf}]/u.test(letter)));
  return [...letters].filter((letter) => {
    const code = letter.codePointAt(0)!;
    return !PARTS.some((part) => load(part, 'regular').font.hasGlyphForCodePoint(code));
  });
}

/** Width of a text in points. */
export function widthOf(text: string, size: number, weight: Weight): number {
  let width = 0;
  for (const run of runsOf(text, weight)) {
    const { font } = run.part;
    for (const letter of run.text)
      width += font.glyphForCodePoint(letter.codePointAt(0)!).advanceWidth / font.unitsPerEm;
  }
  return width * size;
}

/** A text in lines no wider than `width` points, unless a single word is. */
export function wrapText(text: string, width: number, size: number, weight: Weight): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.trim().split(/\s+/)) {
    const longer = line === '' ? word : `${line} ${word}`;
    if (line !== '' && widthOf(longer, size, weight) > width) {
      lines.push(line);
      line = word;
    } else line = longer;
  }
  return line === '' ? lines : [...lines, line];
}
