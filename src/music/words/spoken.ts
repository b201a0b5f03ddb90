/** How a word is spoken: for each of its syllables, whether it is stressed. */
export type Stresses = readonly boolean[];

/** `AY1 ER0` is sung on one note as often as on two: fire, hour, flower. */
const TRIPHTHONG = /(A[WY])\d ER0/g;
const VOWEL = /[A-Z]+(\d)/g;

/**
 * Stresses from a pronunciation in the signs of the CMU dictionary, whose vowels alone have a digit: 0 unstressed, 1 and 2
 * stressed.
 */
export function stressesOf(pronunciation: string): Stresses {
  return [...pronunciation.matchAll(VOWEL)].map(([, digit]) => digit !== '0');
}

/**
 * Parts of a word brought to the number of syllables that are spoken: a mute `e` or the weaker of two vowels goes to its
 * neighbour, and vowels that stand together part.
 * @param parts  as the rules of spelling cut them; joined they give the word
 * @param pronunciation  in the signs of the CMU dictionary
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
 * Parts whose only vowel is an `e` that nothing follows but signs of the plural or the past, likely mute ones before those
 * that are often sung: `waited`, `boxes`, `people`.
 */
const MUTE = [
  /^(?!.*[^aeioul]les?$)(?:[^aeiouy]*e['’]?|[^aeiouy]+(?:(?<![td])ed|(?<![cgsxz]|[cs]h)es|e['’](?:[ds]|re|ve|ll)))$/i,
  /^[^aeiouy]*e(?:['’]?[sd]|['’](?:re|ve|ll))?$/i,
];

function joinMute(parts: string[]): boolean {
  for (const mute of MUTE) {
    // The last one, as what stands before a mute e is sung.
    const at = parts.findLastIndex((part) => mute.test(part));
    if (at < 1) continue;
    parts.splice(at - 1, 2, parts[at - 1] + parts[at]);
    return true;
  }
  return false;
}

/** Two vowels that may belong to two syllables: the first of them, `i` and `u` before others most of all. */
const PARTS_BETWEEN = [/[iu](?=[aou])/i, /i(?=e)/i, /[aeo](?=[aeio])/i];

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
