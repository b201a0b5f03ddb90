/** A mark that says where a tune goes on: a sign to jump to or from, or what is written over the staff. */
export interface Mark {
  readonly kind: 'segno' | 'coda' | 'to coda' | 'fine' | 'D.C.' | 'D.S.';
  /** Where the mark stands; a jump to it goes here. */
  readonly atBeats: number;
  /** Where what it is written over ends; a jump from it leaves here. */
  readonly endBeats: number;
  /** Where a D.C. or D.S. ends, if it says so. */
  readonly until?: 'fine' | 'coda';
}

/** The way after the jump back: from `toBeats` to `leaveBeats`, and then from `codaBeats` on, unless that is null. */
export interface Jump {
  readonly atBeats: number;
  readonly toBeats: number;
  readonly leaveBeats: number;
  readonly codaBeats: number | null;
  /** As in 'D.C. al Fine'. */
  readonly name: string;
}

const BY_TEXT: readonly (readonly [RegExp, Mark['kind']])[] = [
  [/^(?:d\.? ?c\.?(?![a-z])|d\.c\.|da ?capo)/i, 'D.C.'],
  [/^(?:d\.? ?s\.?(?![a-z])|d\.s\.|dal ?segno)/i, 'D.S.'],
  [/^(?:to|al|alla|da) ?(?:coda|⊕|𝄌)/i, 'to coda'],
  [/^(?:coda|⊕|𝄌)\.?$/i, 'coda'],
  [/^(?:segno|𝄋)$/i, 'segno'],
  [/^fine\.?$/i, 'fine'],
];

/** What a text over the staff or the name of a sign says, such as 'D.S. al Coda', 'Fine' or 'dacapo'; null if it says no such thing. */
export function markOf(text: string): Pick<Mark, 'kind' | 'until'> | null {
  const plain = text.replaceAll(/[()\s]+/g, ' ').trim();
  const kind = BY_TEXT.find(([pattern]) => pattern.test(plain))?.[1];
  if (kind === undefined) return null;
  if (kind !== 'D.C.' && kind !== 'D.S.') return { kind };
  if (/fine/i.test(plain)) return { kind, until: 'fine' };
  return /coda|⊕|𝄌/i.test(plain) ? { kind, until: 'coda' } : { kind };
}

export function isCoda(kind: Mark['kind']): boolean {
  return kind === 'coda' || kind === 'to coda';
}

/** Where a jump from a mark in a bar leaves: at the end of the bar, but before a bar whose first note has the coda sign. */
export function endOf(
  { kind, atBeats }: Pick<Mark, 'kind' | 'atBeats'>,
  fromBeats: number,
  toBeats: number,
): number {
  return isCoda(kind) && atBeats <= fromBeats ? atBeats : toBeats;
}

/**
 * The jump that the marks of a score ask for, as in music theory books: back to the beginning (D.C.) or to the segno (D.S.),
 * and on to the Fine, or to the first coda sign and from there to the second.
 * @param marks  in the order of the score
 * @param lastOnsetBeats  onset of the last note
 * @returns null if there is no jump; a sentence if there is one that can't be followed
 */
export function jumpOf(marks: readonly Mark[], lastOnsetBeats: number): Jump | string | null {
  const jumps = marks.filter(({ kind }) => kind === 'D.C.' || kind === 'D.S.');
  if (jumps.length === 0) return null;
  if (jumps.length > 1) return `${jumps.length} of D.C. and D.S. are not followed: only one can be`;
  const [{ kind, endBeats: atBeats, until }] = jumps;
  const not = (why: string): string => `${nameOf(kind, until)} is not followed: ${why}`;
  const before = (mark: Mark): boolean => mark.endBeats < atBeats;
  const segno = marks.find((mark) => mark.kind === 'segno' && mark.atBeats < atBeats);
  if (kind === 'D.S.' && segno === undefined) return not('the score has no segno before it');
  const toBeats = kind === 'D.S.' && segno !== undefined ? segno.atBeats : 0;

  const fine = marks.find((mark) => mark.kind === 'fine' && mark.endBeats > toBeats && before(mark));
  const codas = marks.filter((mark) => mark.kind === 'coda');
  const leave = marks.find((mark) => mark.kind === 'to coda') ?? (codas.length > 1 ? codas[0] : undefined);
  const coda = codas.find((mark) => mark !== leave && mark.atBeats >= atBeats);
  const hasCoda = leave !== undefined && coda !== undefined && leave.endBeats > toBeats && before(leave);
  const isOver = (beats: number): boolean => lastOnsetBeats < beats;
  if (fine !== undefined && until !== 'coda') {
    if (!isOver(atBeats)) return not('notes follow that would never be played');
    const name = nameOf(kind, 'fine');
    return { atBeats, toBeats, leaveBeats: fine.endBeats, codaBeats: null, name };
  }
  if (hasCoda && until !== 'fine') {
    if (coda.atBeats > atBeats) return not('notes between it and the coda would never be played');
    const name = nameOf(kind, 'coda');
    return { atBeats, toBeats, leaveBeats: leave.endBeats, codaBeats: coda.atBeats, name };
  }
  if (until === 'fine') return not('the score has no Fine before it');
  if (until === 'coda') return not('the score has no coda sign before it and after it');
  return not('the score has neither a Fine before it nor a coda sign before it and after it');
}

function nameOf(kind: Mark['kind'], until: Mark['until']): string {
  if (until === undefined) return kind;
  return `${kind} al ${until === 'fine' ? 'Fine' : 'Coda'}`;
}
