import type { Verse } from './verses.ts';

/** One way in which the verses of a song may have been played. */
export interface Form {
  /** Times through the tune. */
  readonly passes: number;
  /** The first row: what is sung from the first note to the last. */
  readonly sung: readonly Verse[];
  /** Further rows: verses that go under the notes of those of the first row, by position among its verses. */
  readonly below: readonly (readonly { readonly verse: Verse; readonly under: number }[])[];
}

/**
 * The ways in which the stanzas of a song may have been played: once through with all verses under the same notes, as
 * often as there are verses, or anything between, and the refrain as it is written or after every verse.
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
    if (refrain === undefined) continue;
    const each = verses.slice(0, passes).flatMap((verse) => [verse, refrain]);
    const isNew = each.length !== written.length || each.some(({ name }, i) => name !== written[i].name);
    if (isNew && stanzas.every(({ kind }) => kind !== 'other')) forms.push({ passes, sung: each, below });
  }
  return forms;
}

/** The stanzas as they are written as far as the verses that are sung go, with what stands behind the last of them. */
function asWritten(stanzas: readonly Verse[], sung: ReadonlySet<Verse>, all: boolean): Verse[] {
  if (all) return [...stanzas];
  const written: Verse[] = [];
  let left = sung.size;
  for (const stanza of stanzas) {
    if (stanza.kind === 'verse' && left === 0) break;
    if (stanza.kind === 'verse') left--;
    written.push(stanza);
  }
  // Parts that only come later are sung once, too.
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
