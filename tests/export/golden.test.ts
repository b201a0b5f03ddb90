import { describe, expect, it } from 'vitest';
import { type ExportFormat, FORMATS, type FormatName } from '../../src/export/formats.ts';
import { buildScore } from '../../src/export/score.ts';
import { AMAZING_GRACE, playTune, withWords } from './tunes.ts';

const SCORES = {
  'amazing-grace': buildScore(withWords(playTune('amazing-grace').take, AMAZING_GRACE), 'Amazing Grace'),
  'auld-lang-syne': buildScore(playTune('auld-lang-syne', 'A').take, 'Auld Lang Syne'),
};
const OPTIONS = { style: 'signs', columns: 80, lengths: false, asPlayed: false } as const;

/*
 * What every format makes of two tunes. They catch change, not error (the other tests do): look at the difference and
 * say in the commit why, after `npx vitest run tests/export/golden.test.ts -u`. MIDI is kept in hexadecimal.
 */
describe.each(Object.entries(SCORES))('%s', (name, score) => {
  // PDF is the picture of svg in another wrapping (tests/export/sheet.test.ts).
  it.each((Object.keys(FORMATS) as FormatName[]).filter((name) => name !== 'pdf'))(
    'as %s',
    async (format) => {
      const { write, extension }: ExportFormat = FORMATS[format];
      const content = await write(score, OPTIONS);
      const text = typeof content === 'string' ? content : inHex(content!);
      const file = typeof content === 'string' ? extension : `${extension}.hex`;
      await expect(text).toMatchFileSnapshot(`../golden/export/${name}${file}`);
    },
  );
});

function inHex(bytes: Uint8Array): string {
  return `${Buffer.from(bytes).toString('hex').replace(/.{64}/g, '$&\n')}\n`;
}
