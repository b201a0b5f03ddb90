/**
 * Pictures of every page of a folder of lessons, to be looked at, in Chromium (`/usr/bin/chromium` or `CHROMIUM=path`):
 *   npx tsx tests/bench/lessons/look.ts LESSONS PICTURES [--only NAME]
 * At 390, 768 and 1280 pixels, light and dark; and as printed on A4, as PDF. Says which pages are wider than the screen.
 * Firefox (`firefox-esr` or FIREFOX=path), where it is there, shows the same widths, light and dark, a long way down.
 */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { parseArgs } from 'node:util';
import { chromium } from 'playwright-core';

const WIDTHS = [390, 768, 1280];
const SCHEMES = ['light', 'dark'] as const;

const { values, positionals } = parseArgs({ allowPositionals: true, options: { only: { type: 'string' } } });
const [lessons, pictures] = positionals;
if (pictures === undefined) throw new Error('say from where and to where: look.ts LESSONS PICTURES');
mkdirSync(pictures, { recursive: true });
const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
  args: ['--no-sandbox', '--mute-audio'],
});
const FIREFOX = process.env.FIREFOX ?? 'firefox-esr';
const firefox = spawnSync(FIREFOX, ['--version']).error === undefined;
if (!firefox) console.log('Firefox is not there, and left out');

/** A picture by Firefox, with a profile of its own that is thrown away. */
function lookWithFirefox(file: string, picture: string, width: number, dark: boolean): boolean {
  const profile = mkdtempSync(join(tmpdir(), 'reedtrace-look-'));
  // In one setting 0 means dark, in the other light.
  const scheme = `user_pref("layout.css.prefers-color-scheme.content-override", ${dark ? 0 : 1});
user_pref("ui.systemUsesDarkTheme", ${dark ? 1 : 0});\n`;
  writeFileSync(join(profile, 'user.js'), scheme);
  const view = ['--headless', '--no-remote', '--profile', profile, `--window-size=${width},2400`];
  spawnSync(FIREFOX, [...view, '--screenshot', picture, pathToFileURL(file).href], { timeout: 120_000 });
  rmSync(profile, { recursive: true, force: true });
  return existsSync(picture);
}

let looked = 0;
for (const name of readdirSync(lessons).sort()) {
  const file = join(resolve(lessons), name, 'lesson.html');
  if (!existsSync(file) || (values.only !== undefined && values.only !== name)) continue;
  for (const width of WIDTHS) {
    for (const colorScheme of SCHEMES) {
      const page = await browser.newPage({
        viewport: { width, height: width < 768 ? 844 : 900 },
        colorScheme,
      });
      await page.goto(pathToFileURL(file).href);
      const picture = join(pictures, `${name}-${width}-${colorScheme}`);
      await page.screenshot({ path: `${picture}.png` });
      // The bar at the bottom would appear in the middle of a picture of the whole page.
      await page.addStyleTag({
        content:
          '.player{position:static!important;max-height:none!important}body{padding-bottom:.8rem!important}',
      });
      await page.screenshot({ path: `${picture}-whole.png`, fullPage: true });
      const wide = (await page.evaluate('document.documentElement.scrollWidth')) as number;
      if (wide > width) console.log(`${name}: ${wide} pixels wide on a screen of ${width}`);
      if (width === WIDTHS[0] && colorScheme === 'light') {
        await page.pdf({ path: join(pictures, `${name}-printed.pdf`), format: 'A4' });
      }
      await page.close();
      looked++;
      if (firefox) {
        if (lookWithFirefox(file, `${resolve(picture)}-firefox.png`, width, colorScheme === 'dark')) looked++;
        else console.log(`${name}: no picture by Firefox`);
      }
    }
  }
}
await browser.close();
console.log(`${looked} pictures of pages`);
