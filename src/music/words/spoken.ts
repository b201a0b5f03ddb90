/** For each syllable of a word as it is pronounced, whether it is stressed. */
export type Stresses = readonly boolean[];

/** `AY1 ER0` is sung on one note as often as on two: fire, hour, flower. */
const TRIPHTHONG = /(A[WY])\d ER0/g;
const VOWEL = /[A-Z]+(\d)/g;

/**
 * Stresses from a pronunciation in CMU dictionary notation, in which only vowels have a digit: 0 for unstressed, 1 and 2 for
 * stressed.
 */
export function stressesOf(pronunciation: string): Stresses {
  return [...pronunciation.matchAll(VOWEL)].map(([, digit]) => digit !== '0');
}

/**
 * Adjusts the parts of a word to the number of syllables in its pronunciation: a mute `e`, or the weaker of two vowels, joins
 * its neighbour, and adjacent vowels are separated.
 * @param parts  as split by spelling rules; joined they give the word
 * @param pronunciation  in CMU dictionary notation
 */
export function asSpoken(parts: readonly string[], pronunciation: string): string[] {
  const most = stressesOf(pronunciation).length;
  const fewest = most - (pronunciation.match(TRIPHTHONG)?.length ?? 0);
  const fitted = [...parts];
  while (fitted.length > Math.max(1, most) && joinMute(fitted)) {}
  while (fitted.length < fewest && partVowels(fitted)) {}
  return fitted;
}

/**
 * Parts whose only vowel is an `e` with nothing after it except a plural or past ending; those that are probably mute come
 * before those that are often sung: `waited`, `boxes`, `people`.
 */
const MUTE = [
  /^(?!.*[^aeioul]les?$)(?:[^aeiouy]*e['’]?|[gq]ues?|[^aeiouy]+(?:(?<![td])ed|(?<![cgsxz]|[cs]h)es|e['’](?:[ds]|re|ve|ll)))$/i,
  /^[^aeiouy]*e(?:['’]?[sd]|['’](?:re|ve|ll))?$/i,
];

function joinMute(parts: string[]): boolean {
  for (const mute of MUTE) {
    // Take the last one, since whatever precedes a mute e is sung.
    const at = parts.findLastIndex((part) => mute.test(part));
    if (at < 1) continue;
    parts.splice(at - 1, 2, parts[at - 1] + parts[at]);
    return true;
  }
  return false;
}

/** The first of two vowels that may belong to separate syllables; `i` and `u` before other vowels come first, as likeliest. */
const PARTS_BETWEEN = [/[iu](?=[aou])/i, /i(?=e)/i, /[aeo](?=[aeio])/i, /u(?=[ei])/i];

function partVowels(parts: string[]): boolean {
  for (const between of PARTS_BETWEEN) {
    for (const [i, part] of parts.entries()) {
      const found = between.exec(part);
      if (found === null || /qu$/i.test(part.slice(0, found.index + 1))) continue;
      parts.splice(i, 1, part.slice(0, found.index + 1), part.slice(found.index + 1));
      return true;
    }
  }
  return false;
}
