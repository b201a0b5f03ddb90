import { plainText } from '../../plain-text.ts';

/** The role of a stanza in its song. */
export type StanzaKind = 'verse' | 'refrain' | 'other';

/** A stanza of a words file, without its labels. */
export interface Stanza {
  readonly kind: StanzaKind;
  /** Its name for the player: `verse 2`, `refrain`, `bridge`. */
  readonly name: string;
  /** Code of the language in its label, as in `Verse 2 (de):`, in lower case; null if there is none. */
  readonly language: string | null;
  /** Lines as written, none empty; if a label stands for the refrain, the refrain's lines are repeated here. */
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
/** A language in brackets, as an ISO 639-1 code: group 4 of a label. */
const LANGUAGE = '(?:[([]\\s*([a-z]{2})\\s*[)\\]])?';
const NAME = `(?:(${VERSE_WORDS})|(${REFRAIN_WORDS})|(${OTHER_WORDS}))\\s*#?${NUMBER}?\\s*${LANGUAGE}\\s*`;
/** Labels on a line of their own, and labels before the words of a line. */
const LABELS = [
  new RegExp(`^[[(]?\\s*${NAME}[\\])]?\\s*[:.–-]?\\s*${AGAIN}$`, 'iu'),
  new RegExp(`^[[(]\\s*${NAME}[\\])]\\s*:?\\s+(?=\\S)`, 'iu'),
  new RegExp(`^${NAME}:\\s+(?=\\S)`, 'iu'),
];
/** `1.`, `2)` or `(3)` before a verse; or on a line of its own, where a language may follow: `2. (de)`, `2. (de): …`. */
const NUMBERED =
  /^(?:\(\d{1,3}\)|\d{1,3}\s*[.):]?)\s*[([]\s*([a-z]{2})\s*[)\]]\s*(?:$|:(?:\s+|$))|^(?:\(\d{1,3}\)|\d{1,3}\s*[.):])(?:\s+|$)|^\d{1,3}$/iu;

interface OpenStanza {
  readonly kind: StanzaKind | null;
  readonly name: string | null;
  readonly language: string | null;
  readonly lines: string[];
}

interface Label {
  readonly kind: StanzaKind;
  readonly name: string;
  readonly language: string | null;
}

/**
 * Reads the stanzas of a words file. An empty line ends a stanza. Labels such as `Verse 2:`, `Refrain` or `1.` begin one,
 * are never sung, and may name its language (`Verse 2 (de):`). A refrain label with no words under it stands for the refrain
 * given earlier. A stanza that is written several times is also a refrain. Lines that begin with `#` are comments.
 */
export function readStanzas(text: string): Stanza[] {
  const found: OpenStanza[] = [];
  let open: OpenStanza | null = null;
  let ended = true;
  const begin = (label: Label | null) => {
    open = { ...(label ?? { kind: null, name: null, language: null }), lines: [] };
    found.push(open);
    ended = false;
    return open;
  };
  for (const raw of text.replace(/^\uFEFF/, '').split(/\r\n|\r|\n/)) {
    // Words are printed as they are, so control sequences are removed.
    const line = plainText(raw).trim();
    if (line.startsWith('#')) continue;
    if (line === '') {
      ended = true;
      continue;
    }
    const { label, rest } = readLabel(line);
    if (label !== null) begin(label);
    if (rest === '') continue;
    // A label followed by an empty line still applies to the next stanza, unless that has a label of its own.
    const waits: OpenStanza | null = open;
    if (waits === null || (ended && !(label === null && isWaiting(waits)))) begin(null).lines.push(rest);
    else (open as unknown as OpenStanza).lines.push(rest);
    ended = false;
  }
  return named(found);
}

function isWaiting({ kind, lines }: OpenStanza): boolean {
  return lines.length === 0 && kind === 'verse';
}

function readLabel(line: string): { label: Label | null; rest: string } {
  for (const pattern of LABELS) {
    const label = pattern.exec(line);
    if (label === null) continue;
    const [whole, verse, refrain, other, language = null] = label;
    const kind = verse !== undefined ? 'verse' : refrain !== undefined ? 'refrain' : 'other';
    const name = (other ?? '').toLowerCase();
    return {
      label: { kind, name, language: language?.toLowerCase() ?? null },
      rest: line.slice(whole.length),
    };
  }
  const numbered = NUMBERED.exec(line);
  if (numbered === null) return { label: null, rest: line };
  const language = numbered[1]?.toLowerCase() ?? null;
  return { label: { kind: 'verse', name: '', language }, rest: line.slice(numbered[0].length) };
}

/** Assigns stanzas their kinds and names, and repeats the refrain's words where only its label is given. */
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
      const refrain: Pick<Stanza, 'language' | 'lines'> | undefined =
        each.lines.length > 0 ? each : refrainBefore(stanzas, each.language);
      if (refrain === undefined) continue;
      const { language, lines } = refrain;
      stanzas.push({ kind: 'refrain', name: 'refrain', language, lines });
    } else if (each.lines.length > 0) {
      const isOther = each.kind === 'other';
      stanzas.push({
        kind: isOther ? 'other' : 'verse',
        name: isOther ? (each.name ?? '') : `verse ${++verses}`,
        language: each.language,
        lines: each.lines,
      });
    }
  }
  return stanzas;
}

/** The refrain that a bare label stands for: the first in its language, else the first. */
function refrainBefore(stanzas: readonly Stanza[], language: string | null): Stanza | undefined {
  const refrains = stanzas.filter(({ kind }) => kind === 'refrain');
  return refrains.find((each) => each.language === language) ?? refrains[0];
}

/** Stanzas that differ only in punctuation and spaces have the same key. */
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
