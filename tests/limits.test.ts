import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { LIMITS, overLimit, tooLarge } from '../src/limits.ts';

describe('the table of limits in src/audio/README.md', () => {
  it('lists each limit with its value, and no other', () => {
    const text = readFileSync(new URL('../src/audio/README.md', import.meta.url), 'utf8');
    const rows = [...text.matchAll(/^\| `([a-z]\w*)` +\| +([\d,]+) ([^|]*?) *\| ([^|]*?) *\|$/gm)];
    const documented = rows.map(([, name, most, unit, of]) => [
      name,
      Number(most.replaceAll(',', '')),
      unit,
      of,
    ]);
    expect(documented).toEqual(
      Object.entries(LIMITS).map(([name, { most, unit, of }]) => [name, most, unit, of]),
    );
  });
});

describe('the message when a limit is exceeded', () => {
  it('names the value, the limit and what they count', () => {
    expect(overLimit('notes', 600_000)).toBe('600,000 notes; the limit is 500,000');
    const error = tooLarge('take.flac', 'lasts', 'recordingSec', 90_000.126, 'cut it');
    expect(error.message).toBe("'take.flac' lasts 90,000 s; the limit is 86,400");
    expect(error.exitCode).toBe(3);
  });
});
