import { describe, expect, it } from 'vitest';
import { hasUnicode } from '../../../src/ui/effects/terminal.ts';

describe('signs beyond ASCII', () => {
  it.each([
    [{ LC_ALL: 'de_DE.UTF-8' }, 'linux', true],
    [{ LANG: 'C.utf8' }, 'linux', true],
    // POSIX.1 XBD 8.2: LC_ALL before LC_CTYPE before LANG.
    [{ LC_ALL: 'C', LANG: 'de_DE.UTF-8' }, 'linux', false],
    [{ LC_CTYPE: 'C.UTF-8', LANG: 'C' }, 'linux', true],
    [{}, 'linux', false],
    [{}, 'darwin', true],
    [{}, 'win32', true],
    // The Linux console has no braille in its fonts (console_codes(4)).
    [{ LANG: 'C.UTF-8', TERM: 'linux' }, 'linux', false],
    [{ LANG: 'C.UTF-8', TERM: 'screen' }, 'linux', true],
  ])('%j on %s: %s', (env, platform, wanted) => {
    expect(hasUnicode(env, platform)).toBe(wanted);
  });
});
