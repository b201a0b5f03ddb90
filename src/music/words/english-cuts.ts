/** Pronunciation of a word in CMU dictionary notation; undefined if unknown. */
type Pronounce = (word: string) => string | undefined;

const LETTERS_THAT_SOUND_AS_ONE = /^(?:th|sh|ch|ph|ck|[bcdfgklmnprstvxz])(?=[aeiouy])/i;
/** Where the consonant belongs to the next syllable all the same: `vi-sion`, `spe-cial`, `plea-sure`, `pi-geon`. */
const STAYS = /^(?:[cs]i[aeou]|ti(?:[ao]|en)|su|g[ei]o)/i;
/** Endings before which a word keeps its letters together: `tell-ing`, `self-ish`. */
const ENDINGS = /(?:y|er|est|ing|es|or|ish)$/i;
/** Before these, only a word that ends so does (`trust-y`, `sail-or`, `breez-es`): of others too many are others' words, as in `par-ty`. */
const SHORT_ENDINGS = /^(?:y|er|est|es|or)$/i;
const LONG_STEM = /(?:[aeiou][aeiouw][^aeiouyw]|st)$/i;
/** Parts of a compound have at least so many letters. */
const SHORTEST_PART = 4;

/**
 * Moves the cuts of an English word to where dictionaries of American English put them: a stressed short vowel keeps the
 * consonant after it (`read-y`, not `rea-dy`), and a word keeps its letters before an ending (`hand-y`).
 * @param parts  one per vowel of the pronunciation, or they are returned as they are; joined they give the word
 */
export function cutAsInDictionaries(
  parts: readonly string[],
  pronunciation: string,
  pronounce: Pronounce,
): string[] {
  const vowels = [...pronunciation.matchAll(/[A-Z]+\d/g)].map(([vowel]) => vowel);
  const cut = [...parts];
  if (vowels.length !== cut.length) return cut;
  for (let i = 0; i + 1 < cut.length; i++) {
    // The `e` of `sure-ly` is mute.
    if (
      !/[aeiouy]$/i.test(cut[i]) ||
      /[aeiouy][^aeiouy]+e$/i.test(cut[i]) ||
      !isShort(vowels[i], cut[i]) ||
      STAYS.test(cut[i + 1])
    )
      continue;
    move(cut, i, LETTERS_THAT_SOUND_AS_ONE.exec(cut[i + 1])?.[0].length ?? 0);
  }
  const word = cut.join('');
  const stem = stemOf(word, pronunciation, pronounce);
  const at = cut.length - 2;
  const before = cut.slice(0, -1).join('').length;
  // The stem ends within the last part: all of its letters go to the part before.
  if (at >= 0 && stem > before && stem < word.length) move(cut, at, stem - before);
  return cut;
}

/** Where a compound of two words that the dictionary has is joined, such as `green|sleeves`; 0 for other words. */
export function jointOf(word: string, pronounce: Pronounce): number {
  const whole = pronounce(word);
  for (let at = SHORTEST_PART; at <= word.length - SHORTEST_PART; at++) {
    const first = pronounce(word.slice(0, at));
    const second = pronounce(word.slice(at));
    if (first === undefined || second === undefined) continue;
    if (whole === undefined || soundsOf(whole) === soundsOf(`${first} ${second}`)) return at;
  }
  return 0;
}

/** Letters of the longest beginning of the word that is a word of its own, is spoken alike and is followed by an ending; 0 if none is. */
function stemOf(word: string, pronunciation: string, pronounce: Pronounce): number {
  const ending = ENDINGS.exec(word)?.[0] ?? '';
  const stem = word.slice(0, word.length - ending.length);
  if (ending === '' || !/[^aeiouy]$/i.test(stem)) return 0;
  // `run-ning`: of a doubled letter only these belong to the stem.
  if (/([bdgmnprtk])\1$/i.test(stem)) return 0;
  if (SHORT_ENDINGS.test(ending) && !LONG_STEM.test(stem)) return 0;
  const sounds = soundsOf(pronunciation);
  const isStem = [stem, `${stem}e`].some((spelled) => {
    const spoken = pronounce(spelled);
    const own = spoken === undefined ? '-' : soundsOf(spoken);
    return sounds.startsWith(own) && /^ [AEIOU]/.test(sounds.slice(own.length));
  });
  return isStem ? stem.length : 0;
}

/** Without stress, and with the vowels of `fall` and `falling` alike. */
const soundsOf = (pronunciation: string): string =>
  pronunciation.replaceAll(/\d/g, '').replaceAll('AO', 'AA');

/** A stressed vowel that needs a consonant after it; `AA` is short in `bod-y`, not in `fa-ther`. */
function isShort(vowel: string, letters: string): boolean {
  return /^(?:AE|EH|IH|AH|UH)[12]$/.test(vowel) || (/^AA[12]$/.test(vowel) && /o$/i.test(letters));
}

/** Moves letters from the start of a part to the one before, unless that leaves it without a vowel. */
function move(parts: string[], i: number, letters: number): void {
  const left = parts[i + 1].slice(letters);
  if (letters === 0 || !/[aeiouy]/i.test(left)) return;
  parts[i] += parts[i + 1].slice(0, letters);
  parts[i + 1] = left;
}
