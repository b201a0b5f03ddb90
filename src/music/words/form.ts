import type { Verse } from './verses.ts';

/** One way in which the verses of a song may have been played. */
export interface Form {
  /** How many times the tune is played. */
  readonly passes: number;
  /** The first row: what is sung from the first note to the last. */
  readonly sung: readonly Verse[];
  /** Further rows: verses that share the notes of a verse of the first row, given by its position there. */
  readonly below: readonly (readonly { readonly verse: Verse; readonly under: number }[])[];
}

/**
 * The ways in which the stanzas of a song may have been played: once, with all verses under the same notes; once for each
 * verse; or anything in between. The refrain may come where it is written, after every verse, or also before each.
 */
export function formsOf(stanzas: readonly Verse[]): Form[] {
  const verses = stanzas.filter(({ kind }) => kind === 'verse');
  const refrain = stanzas.find(({ kind }) => kind === 'refrain');
  if (verses.length === 0) return [{ passes: 1, sung: stanzas, below: [] }];
  const forms: Form[] = [];
  for (let passes = 1; passes <= verses.length; passes++) {
    const sung = new Set(verses.slice(0, passes));
    const written = asWritten(stanzas, sung, passes === verses.length);
    const below = rowsBelow(verses, passes);
    forms.push({ passes, sung: written, below });
    if (refrain === undefined || stanzas.some(({ kind }) => kind === 'other')) continue;
    const after = verses.slice(0, passes).flatMap((verse) => [verse, refrain]);
    // A refrain that is written first may also be sung first, and may or may not end the song.
    const around =
      stanzas[0].kind === 'refrain'
        ? [
            [refrain, ...after],
            [refrain, ...after.slice(0, -1)],
          ]
        : [];
    for (const each of [after, ...around]) {
      if (forms.every(({ sung: known }) => !isSame(known, each))) forms.push({ passes, sung: each, below });
    }
  }
  return forms;
}

function isSame(sung: readonly Verse[], other: readonly Verse[]): boolean {
  return sung.length === other.length && sung.every(({ name }, i) => name === other[i].name);
}

/** The stanzas in written order, up to the last verse that is sung and whatever follows it. */
function asWritten(stanzas: readonly Verse[], sung: ReadonlySet<Verse>, all: boolean): Verse[] {
  if (all) return [...stanzas];
  const written: Verse[] = [];
  let left = sung.size;
  for (const stanza of stanzas) {
    if (stanza.kind === 'verse' && left === 0) break;
    if (stanza.kind === 'verse') left--;
    written.push(stanza);
  }
  // Parts that only come later are also sung, once.
  const missing = stanzas.filter(
    (stanza) => stanza.kind !== 'verse' && !written.some(({ name }) => name === stanza.name),
  );
  return [
    ...written,
    ...missing.filter((stanza, i) => missing.findIndex(({ name }) => name === stanza.name) === i),
  ];
}

function rowsBelow(verses: readonly Verse[], passes: number): { verse: Verse; under: number }[][] {
  const rows: { verse: Verse; under: number }[][] = [];
  for (let first = passes; first < verses.length; first += passes) {
    rows.push(verses.slice(first, first + passes).map((verse, under) => ({ verse, under })));
  }
  return rows;
}

/** Names of verses in one: `verses 1 to 3`, `verses 1 and 3`. */
export function namesOf(names: readonly string[]): string {
  if (names.length < 2) return names[0];
  const numbers = names.map((name) => Number(name.replace(/\D+/, '')));
  const last = numbers[numbers.length - 1];
  if (numbers.length > 2 && last - numbers[0] === numbers.length - 1)
    return `verses ${numbers[0]} to ${last}`;
  return `verses ${numbers.slice(0, -1).join(', ')} and ${last}`;
}

/** Whether a name is one that stanzas get from words, not a player's own. */
export function isNameOfStanza(name: string): boolean {
  return /^(?:verse \d+|verses \d.*|refrain)$/.test(name);
}
