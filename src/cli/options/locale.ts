import type { Io } from '../terminal/io.ts';

/** Where letter-size paper is usual (Unicode CLDR 45, supplementalData, paperSize). */
const LETTER_REGIONS = new Set('BZ CA CL CO CR GT MX NI PA PH PR SV US VE'.split(' '));

/** The locale of a category such as `LC_NUMERIC` (POSIX.1, 8.2) as a language tag; null when none is set. */
function localeOf(env: Io['env'], category: 'LC_NUMERIC' | 'LC_PAPER'): string | null {
  const value = env.LC_ALL || env[category] || env.LANG || '';
  const tag = value.replace(/[.@].*$/, '').replace('_', '-');
  return tag === '' || tag === 'C' || tag === 'POSIX' ? null : tag;
}

/** The usual paper size in the player's region. */
export function usualPaper(env: Io['env']): 'a4' | 'letter' {
  const region = /-([A-Z]{2})\b/.exec(localeOf(env, 'LC_PAPER') ?? '')?.[1];
  return region !== undefined && LETTER_REGIONS.has(region) ? 'letter' : 'a4';
}

/** The decimal sign in the player's region. */
export function usualDecimal(env: Io['env']): 'point' | 'comma' {
  const locale = localeOf(env, 'LC_NUMERIC');
  try {
    return locale !== null && new Intl.NumberFormat(locale).format(0.5).includes(',') ? 'comma' : 'point';
  } catch {
    // Not a language tag (RFC 5646).
    return 'point';
  }
}
