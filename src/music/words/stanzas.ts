import { plainText } from '../../plain-text.ts';

/** What a stanza is in its song. */
export type StanzaKind = 'verse' | 'refrain' | 'other';

/** A stanza of a words file, its labels taken off. */
export interface Stanza {
  readonly kind: StanzaKind;
  /** As the player is told of it: `verse 2`, `refrain`, `bridge`. */
  readonly name: string;
  /** Lines as written, none empty; those of the refrain that a label stands for are given again. */
  readonly lines: readonly string[];
}

/** What people write above verses, refrains and other parts, in the languages whose words can be split. */
const VERSE_WORDS = 'verse|vers|stanza|strophe|couplet|estrofa|copla|estrofe|strofa|zwrotka';
const REFRAIN_WORDS =
  'refrain|chorus|ref|chor|kehrvers|refrein|refräng|refrén|omkvæd|omkväde|coro|estribillo|ritornello|rit|refrão|estribilho|refren|chœur';
const OTHER_WORDS =
  'bridge|pre-chorus|prechorus|coda|tag|ending|outro|intro|interlude|solo|instrumental|break|pont|brücke|puente|ponte';
const NUMBER = '(?:\\d{1,3}|[ivx]{1,5})';
const AGAIN = '(?:\\(?\\s*(?:[x×]\\s*\\d|\\d\\s*[x×])\\s*\\)?)?';
/** A label that has its line to itself, and one before the words of its line. */
const ALONE = new RegExp(
  `^[[(]?\\s*(?:(${VERSE_WORDS})|(${REFRAIN_WORDS})|(${OTHER_WORDS}))\\s*#?${NUMBER}?\\s*[\\])]?\\s*[:.–-]?\\s*${AGAIN}$`,
  'iu',
);
const BEFORE_WORDS = new RegExp(
  `^(?:[[(]\\s*(?:(${VERSE_WORDS})|(${REFRAIN_WORDS})|(${OTHER_WORDS}))\\s*#?${NUMBER}?\\s*[\\])]\\s*:?|(?:(${VERSE_WORDS})|(${REFRAIN_WORDS})|(${OTHER_WORDS}))\\s*#?${NUMBER}?\\s*:)\\s+(?=\\S)`,
  'iu',
);
/** `1.`, `2)` or `(3)` before a verse, or on a line of its own. */
const NUMBERED = /^(?:\(\d{1,3}\)|\d{1,3}\s*[.):])(?:\s+|$)|^\d{1,3}$/u;

interface OpenStanza {
  kind: StanzaKind | null;
  name: string | null;
  lines: string[];
}

/**
 * Reads the stanzas of a words file. An empty line ends one; labels such as `Verse 2:`, `Refrain` or `1.` begin one and are
 * never sung; a label of the refrain with no words under it stands for the refrain that was given before. A stanza that
 * is written several times is a refrain, too. Lines that begin with `#` are remarks.
 */
export function readStanzas(text: string): Stanza[] {
  const found: OpenStanza[] = [];
  let open: OpenStanza | null = null;
  let ended = true;
  const begin = (kind: StanzaKind | null, name: string | null) => {
    open = { kind, name, lines: [] };
    found.push(open);
    ended = false;
    return open;
  };
  for (const raw of text.replace(/^\uFEFF/, '').split(/\r\n|\r|\n/)) {
    // Words are printed as they are, so they must not steer a terminal.
    const line = plainText(raw).trim();
    if (line.startsWith('#')) continue;
    if (line === '') {
      ended = true;
      continue;
    }
    const { label, rest } = readLabel(line);
    if (label !== null) begin(label.kind, label.name);
    if (rest === '') continue;
    // A label with an empty line under it still names what follows, unless that has a label of its own.
    const waits: OpenStanza | null = open;
    if (waits === null || (ended && !(label === null && isWaiting(waits))))
      begin(null, null).lines.push(rest);
    else (open as unknown as OpenStanza).lines.push(rest);
    ended = false;
  }
  return named(found);
}

function isWaiting({ kind, lines }: OpenStanza): boolean {
  return lines.length === 0 && kind === 'verse';
}

function readLabel(line: string): { label: { kind: StanzaKind; name: string } | null; rest: string } {
  const label = ALONE.exec(line) ?? BEFORE_WORDS.exec(line);
  if (label !== null) {
    const [verse, refrain, other] = [1, 2, 3].map((i) => label[i] ?? label[i + 3]);
    const kind = verse !== undefined ? 'verse' : refrain !== undefined ? 'refrain' : 'other';
    return { label: { kind, name: (other ?? '').toLowerCase() }, rest: line.slice(label[0].length) };
  }
  const numbered = NUMBERED.exec(line);
  if (numbered === null) return { label: null, rest: line };
  return { label: { kind: 'verse', name: '' }, rest: line.slice(numbered[0].length) };
}

/** Gives stanzas their kinds and names, and the refrain its words wherever a label alone stands for it. */
function named(found: readonly OpenStanza[]): Stanza[] {
  const counts = new Map<string, number>();
  for (const { lines } of found) counts.set(key(lines), (counts.get(key(lines)) ?? 0) + 1);
  const unlike = new Set(found.filter(({ lines }) => lines.length > 0).map(({ lines }) => key(lines))).size;
  const isRefrain = ({ kind, lines }: OpenStanza) =>
    kind === 'refrain' || (kind === null && unlike > 1 && (counts.get(key(lines)) ?? 0) > 1);
  const stanzas: Stanza[] = [];
  let verses = 0;
  for (const each of found) {
    if (isRefrain(each)) {
      const lines: readonly string[] =
        each.lines.length > 0 ? each.lines : (stanzas.find(({ kind }) => kind === 'refrain')?.lines ?? []);
      if (lines.length > 0) stanzas.push({ kind: 'refrain', name: 'refrain', lines });
    } else if (each.lines.length > 0) {
      const isOther = each.kind === 'other';
      stanzas.push({
        kind: isOther ? 'other' : 'verse',
        name: isOther ? (each.name ?? '') : `verse ${++verses}`,
        lines: each.lines,
      });
    }
  }
  return stanzas;
}

/** Stanzas alike but for signs and spaces are one. */
function key(lines: readonly string[]): string {
  return lines
    .map((line) =>
      line
        .toLowerCase()
        .replaceAll(/[^\p{L}\p{N}]+/gu, ' ')
        .trim(),
    )
    .join('\n');
}
