import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { XMLParser, XMLValidator } from 'fast-xml-parser';
import { type Browser, chromium, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { Samples } from '../../../src/audio/samples.ts';
import type { Finding } from '../../../src/check/finding.ts';
import { run } from '../../../src/cli/run.ts';
import { type PageFindings, placeFindings } from '../../../src/export/page/findings.ts';
import { writeHtml } from '../../../src/export/page/page.ts';
import { buildScore } from '../../../src/export/score.ts';
import { pitchContours } from '../../../src/measure/pitch-contour.ts';
import { encodeMp3 } from '../../../src/sound/mp3.ts';
import { soundTab } from '../../../src/sound/tab-sound.ts';
import { encodeWav } from '../../../src/sound/write-wav.ts';
import { formatTabNote } from '../../../src/tab/text.ts';
import { formatTake } from '../../../src/take/format.ts';
import { captureIo } from '../../cli/captured-io.ts';
import { AMAZING_GRACE, playTune, withWords } from '../tunes.ts';

const take = withWords(playTune('amazing-grace').take, AMAZING_GRACE);
const RATE = 22_050;
const heard = soundTab(
  take.notes.map(({ onsetSec, offsetSec, f0Hz }) => ({ onsetSec, offsetSec, f0Hz })),
  0,
  take.source.durationSec,
  RATE,
);

let dir: string;
beforeAll(() => {
  dir = mkdtempSync(join(tmpdir(), 'reedtrace-page-'));
  writeFileSync(join(dir, take.source.file), encodeWav(heard, RATE, 16));
  writeFileSync(join(dir, 'grace.take.json'), formatTake(take));
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

async function exportPage(...more: string[]): Promise<{ code: number; stderr: string; path: string }> {
  const { io, texts } = captureIo();
  const code = await run(['export', join(dir, 'grace.take.json'), '--as', 'html', '--force', ...more], io);
  return { code, stderr: texts.stderr, path: join(dir, 'grace.html') };
}

/** A page of the same notes over noise, in which every moment is different. */
async function exportNoise(): Promise<{ noise: Float32Array; path: string }> {
  const noise = new Float32Array(Math.ceil(take.source.durationSec * RATE));
  let state = 1;
  let smooth = 0;
  for (let i = 0; i < noise.length; i++) {
    state = (state * 1_103_515_245 + 12_345) % 2 ** 31; // a linear congruential generator (ISO C, 7.22.2 example)
    smooth = 0.6 * smooth + 0.4 * (state / 2 ** 30 - 1);
    noise[i] = 0.5 * smooth;
  }
  writeFileSync(join(dir, 'noise.wav'), encodeWav(noise, RATE, 16));
  const out = mkdtempSync(join(dir, 'noise-'));
  const { code, path } = await exportPage('--recording', join(dir, 'noise.wav'), '--out', out);
  expect(code).toBe(0);
  return { noise, path: join(out, basename(path)) };
}

/** MP3 in base64 without its first frame, which holds the tag. */
function withoutTag(base64: string): string {
  const bytes = Buffer.from(base64, 'base64');
  const next = bytes.indexOf(bytes.subarray(0, 2), 2);
  expect(bytes.subarray(0, next).includes('Info')).toBe(true);
  return bytes.subarray(next).toString('base64');
}

/** How many seconds after `fromSec` a piece of sound lies in the whole: where they correlate best. */
function lagOf(piece: readonly number[], whole: Float32Array, fromSec: number): number {
  const at = Math.round(fromSec * RATE);
  const reach = Math.round(0.2 * RATE);
  const fits = Array.from({ length: 2 * reach + 1 }, (_, i) => {
    const start = at + i - reach;
    return piece.reduce((sum, value, k) => sum + value * (whole[start + k] ?? 0), 0);
  });
  return (fits.indexOf(Math.max(...fits)) - reach) / RATE;
}

describe('the page', () => {
  it('loads nothing, and shows text from a take as text', () => {
    const evil = '</title><script>alert(1)</script>"\'&';
    const score = buildScore({ ...take, words: take.words.map((word) => ({ ...word, text: evil })) }, evil);
    const html = writeHtml(score, { style: 'signs', sound: null, staff: null, findings: null });
    expect(html).not.toContain('<script>alert');
    expect(html.match(/<script/g)).toHaveLength(1);
    expect(html).toContain(`content="default-src 'none'; `);
    expect(html).not.toMatch(/(?:src|href)="(?!data:|#)/);
  });

  it('without a recording has no sound but the tab itself', () => {
    const html = writeHtml(buildScore(take, 'Grace'), {
      style: 'signs',
      sound: null,
      staff: null,
      findings: null,
    });
    expect(html).not.toMatch(/<audio|class="pitch"|<option value="own"/);
    expect(html).toContain('<option value="tab">');
  });

  it("shows the teacher's remark at its line, and names the language of the words", () => {
    const advice = new Map([[1, 'Low & slow']]);
    const html = writeHtml(buildScore(take, 'Grace'), {
      style: 'signs',
      sound: null,
      staff: null,
      findings: null,
      advice,
    });
    const [, second] = html.split('data-line="1" data-from');
    expect(second.slice(0, 600)).toContain('Low &#38; slow');
    expect(html.match(/Low &#38; slow/g)).toHaveLength(1);
    expect(html).toContain('<span class="word" lang="en">');
  });

  it('offers at most six hard lines, each hard passage once before any is repeated', () => {
    const again = Array.from({ length: 12 }, (_, k) => k);
    const notes = again.flatMap((k) =>
      take.notes.map((note) => ({
        ...note,
        id: `${note.id}-${k}`,
        onsetSec: note.onsetSec + 60 * k,
        offsetSec: note.offsetSec + 60 * k,
      })),
    );
    const phrases = again.flatMap((k) =>
      take.phrases.map(({ firstNote, lastNote }) => ({
        firstNote: firstNote + k * take.notes.length,
        lastNote: lastNote + k * take.notes.length,
      })),
    );
    const hardIn = (long: typeof take) =>
      [
        ...writeHtml(buildScore(long, 'x'), {
          style: 'signs',
          sound: null,
          staff: null,
          findings: null,
        }).matchAll(/class="go" data-line="(\d+)"[^>]*>Line \d+ <b>([^<]*)/g),
      ].map(([, line, tab]) => ({ line: Number(line), tab }));
    const once = hardIn(take);
    const often = hardIn({ ...take, notes, phrases, words: [], beats: {} } as typeof take);
    expect(often.length).toBeLessThanOrEqual(6);
    expect(often.length).toBeGreaterThanOrEqual(once.length);
    expect(new Set(often.map(({ tab }) => tab))).toEqual(new Set(once.map(({ tab }) => tab)));
    expect(often.map(({ line }) => line)).toEqual(often.map(({ line }) => line).sort((a, b) => a - b));
  });

  it('keeps syllables level if one of the notes has an ornament', () => {
    const notes = take.notes.map((note, i) => (i === 1 ? { ...note, ornament: { kind: 'tremolo' } } : note));
    const html = writeHtml(buildScore({ ...take, notes } as typeof take, 'x'), {
      style: 'signs',
      sound: null,
      staff: null,
      findings: null,
    });
    const [first, second] = html.split('<li class="line"').slice(1);
    const rows = [...first.matchAll(/<button class="note.*?<\/button>/gs)].map(([note]) =>
      [...note.matchAll(/<span class="(done|word)"/g)].map(([, kind]) => kind).join(' '),
    );
    expect(new Set(rows)).toEqual(new Set(['done word word']));
    expect(first).toContain('<span class="done">tremolo</span>');
    expect(second).not.toContain('class="done"');
  });

  it('draws contours that are well-formed, a bar for each note, at the pitch that sounds', async () => {
    const contours = pitchContours(Samples.from(heard, RATE), take.notes);
    for (const [i, { midi, offsetSec, onsetSec }] of take.notes.entries()) {
      const clear = contours[i].flatMap((point) => point.midi ?? []);
      expect(clear.length).toBeGreaterThan((0.7 * (offsetSec - onsetSec)) / 0.02);
      const middle = clear.sort((a, b) => a - b)[clear.length >> 1];
      // The sound was made at the pitch of the note: within 5 cents.
      expect(Math.abs(middle - midi)).toBeLessThan(0.05);
    }
    const sound = { ...(await encodeMp3(Samples.from(heard, RATE))), contours };
    const html = writeHtml(buildScore(take, 'Grace'), {
      style: 'signs',
      sound,
      staff: null,
      findings: null,
    });
    const pictures = html.match(/<svg class="contour"[\s\S]*?<\/svg>/g) ?? [];
    expect(pictures).toHaveLength(take.phrases.length);
    for (const svg of pictures) expect(XMLValidator.validate(svg)).toBe(true);
    const parsed = pictures.map((svg) => new XMLParser({ isArray: () => true }).parse(svg).svg[0]);
    expect(parsed.flatMap((svg) => svg.rect)).toHaveLength(take.notes.length);
  });

  it('does without its recording if that is missing, and says so', async () => {
    const lone = mkdtempSync(join(dir, 'lone-'));
    writeFileSync(join(lone, 'a.take.json'), formatTake(take));
    const { io, texts } = captureIo();
    expect(await run(['export', join(lone, 'a.take.json'), '--as', 'html'], io)).toBe(0);
    expect(texts.stderr).toContain('remark: a: the page has no sound: the recording ');
    expect(existsSync(join(lone, 'a.html'))).toBe(true);
  });
});

const HELD: PageFindings = {
  against: 'teacher <1>.abc',
  score: 71.6,
  parts: ['notes: 2 slips in 32 notes'],
  findings: [
    finding('late', 1, 0.213, '2 draw comes 0.21 s late'),
    finding('missed', null, null, '-3 is missing'),
    finding('bend-short', 4, 31.4, 'the bend is short'),
  ],
  workOn: ['being there in time: one note late'],
  wentWell: ['clean single notes'],
  remarks: [],
  judged: 'Judged: as usual.',
};

/** A finding of a note of the take, or of one that is missing between the third and the fourth. */
function finding(kind: Finding['kind'], note: number | null, value: number | null, message: string): Finding {
  const place = note === null ? null : take.notes[note];
  const timeSec = place?.onsetSec ?? (take.notes[2].offsetSec + take.notes[3].onsetSec) / 2;
  return { kind, timeSec, noteId: place?.id ?? null, referenceIndex: 0, message, value };
}

describe('findings on the page', () => {
  const score = buildScore(take, 'Grace');
  const html = writeHtml(score, { style: 'signs', sound: null, staff: null, findings: HELD });

  it('are at their notes, in words and with their numbers in the list', () => {
    const { byNote, before, after } = placeFindings(score, HELD.findings);
    expect([...byNote]).toEqual([
      [take.notes[1].id, ['1. late 0.21 s']],
      [take.notes[4].id, ['3. bend 31 short']],
    ]);
    expect([...before]).toEqual([[3, ['2. missed']]]);
    expect(after.size).toBe(0);
    expect(html).toMatch(/2 draw<.*>ma-<.*>grace<.*<span class="fault">1\. late 0\.21 s</);
    const list = html.match(/<ol class="findings">.*?<\/ol>/s)![0];
    expect(list.match(/<li>/g)).toHaveLength(3);
    expect(list).toContain('2 draw comes 0.21 s late.');
  });

  it('show a note missing after a phrase or the tune at its end', () => {
    const { lastNote } = take.phrases[0];
    const late = (sec: number) => [{ ...HELD.findings[1], timeSec: sec }];
    const end = take.notes[lastNote].offsetSec;
    expect([...placeFindings(score, late(end + 0.01)).after.keys()]).toEqual([lastNote]);
    expect([...placeFindings(score, late(take.source.durationSec)).after.keys()]).toEqual([
      take.notes.length - 1,
    ]);
    expect([...placeFindings(score, late(0)).before.keys()]).toEqual([0]);
    // Where it is known which note it should have followed, that counts.
    const known = { ...HELD.findings[1], timeSec: 1, afterNoteId: take.notes.at(-1)!.id };
    expect([...placeFindings(score, [known]).after.keys()]).toEqual([take.notes.length - 1]);
    const first = { ...known, afterNoteId: null };
    expect([...placeFindings(score, [first]).before.keys()]).toEqual([0]);
  });

  it('give the score, what to work on and what went well, with text of the reference as text', () => {
    expect(html).toContain('Compared with teacher &#60;1&#62;.abc: 72 of 100');
    expect(html).toContain('<li>Being there in time: one note late.</li>');
    expect(html).toContain('<li>Clean single notes.</li>');
    expect(html).not.toContain('class="finding"'); // nothing to hear without sound
  });

  it('are not on a page if nothing was checked', () => {
    const plain = writeHtml(score, { style: 'signs', sound: null, staff: null, findings: null });
    expect(plain).not.toMatch(/Compared with|What was found|class="missed"/);
  });
});

/** The tune, its third note otherwise, so that a check finds something to say. */
const WANTED = take.notes.map((note, i) => (i === 2 ? '8' : formatTabNote(note))).join(' ');

it('reveals nothing that a recorder wrote into its file, and says how large the sound is', async () => {
  const place = 'Kitchen, 52.1 N 13.4 E';
  const text = Buffer.concat([Buffer.from([3]), Buffer.from(place)]);
  const size = Buffer.from([0, 0, 0, text.length]);
  const frame = Buffer.concat([Buffer.from('TIT2'), size, Buffer.from([0, 0]), text]);
  // ID3v2.4, one frame (id3.org, 3.1).
  const tag = Buffer.concat([Buffer.from('ID3'), Buffer.from([4, 0, 0, 0, 0, 0, frame.length]), frame]);
  const file = join(dir, 'tagged.mp3');
  writeFileSync(file, Buffer.concat([tag, readFileSync('tests/fixtures/audio/tone.mp3')]));
  expect(readFileSync(file).includes(place)).toBe(true);
  const out = mkdtempSync(join(dir, 'tagged-'));
  const { code, stderr } = await exportPage('--recording', file, '--out', out);
  expect(code).toBe(0);
  expect(stderr).toMatch(/the page is \d+ kB, the sound in it \d+ kB of MP3/);
  const page = readFileSync(join(out, 'grace.html'), 'utf8');
  const sound = Buffer.from(/src="data:audio\/mpeg;base64,([^"]+)"/.exec(page)![1], 'base64');
  expect(sound.includes('Kitchen')).toBe(false);
  expect(page).toContain(`as MP3 (${Math.ceil(sound.length / 1000)} kB)`);
});

/** Where systems keep the browser; the tests below need one. */
const BROWSER = [
  process.env.CHROMIUM,
  '/usr/bin/chromium',
  '/usr/bin/chromium-browser',
  '/usr/bin/google-chrome',
].find((path) => path !== undefined && existsSync(path));
const without = BROWSER === undefined ? ' (skipped: no Chromium; install it or name it in CHROMIUM)' : '';

describe.skipIf(BROWSER === undefined)(`the page in a browser${without}`, () => {
  let browser: Browser;
  let page: Page;
  const faults: string[] = [];
  const requests: string[] = [];
  beforeAll(async () => {
    writeFileSync(join(dir, 'wanted.txt'), `${WANTED}\n`);
    const { path, code } = await exportPage('--against', join(dir, 'wanted.txt'));
    expect(code).toBe(0);
    browser = await chromium.launch({
      executablePath: BROWSER!,
      args: ['--no-sandbox', '--autoplay-policy=no-user-gesture-required', '--mute-audio'],
    });
    page = await browser.newPage({ viewport: { width: 360, height: 740 } });
    page.on('console', (message) => message.type() === 'error' && faults.push(message.text()));
    page.on('pageerror', (error) => faults.push(error.message));
    page.on('request', (request) => requests.push(request.url().slice(0, 8)));
    await page.goto(pathToFileURL(path).href);
  }, 60_000);
  afterAll(() => browser?.close());

  /** The page's own policy forbids the usual way of waiting, which evaluates text inside it. */
  const until = (condition: string) =>
    expect.poll(() => page.evaluate(`Boolean(${condition})`), { timeout: 10_000, interval: 20 }).toBe(true);
  const audio = () =>
    page.evaluate(`(() => { const a = document.querySelector('audio');
      return { paused: a.paused, at: a.currentTime, rate: a.playbackRate, pitch: a.preservesPitch, length: a.duration }; })()`) as Promise<{
      paused: boolean;
      at: number;
      rate: number;
      pitch: boolean;
      length: number;
    }>;

  it('opens without errors and loads nothing but itself and its sound', async () => {
    // The sound is put in once as sent and once as decoded; in between it has no length.
    const sound = `document.querySelector('audio')`;
    await until(`${sound}.dataset.unpacked === 'yes' && ${sound}.duration > 0`);
    expect((await audio()).length).toBeCloseTo(take.source.durationSec, 1);
    expect(faults).toEqual([]);
    expect(requests.filter((url) => !/^(file:\/\/|data:|blob:)/.test(url))).toEqual([]);
  });

  it('plays the note that is clicked, marks it, and stops at its end', async () => {
    const long = take.notes.findIndex((note) => note.offsetSec - note.onsetSec > 0.6);
    const { onsetSec, offsetSec } = take.notes[long];
    await page.locator('.note').nth(long).click();
    await until(`document.querySelector('.note.now')?.dataset.n === '${long}'`);
    await until(`document.querySelector('audio').paused`);
    const { at } = await audio();
    expect(at).toBeGreaterThan(onsetSec);
    expect(at).toBeLessThan(offsetSec + 0.25);
  });

  it('loops a line until it is stopped', async () => {
    const { firstNote, lastNote } = take.phrases[1];
    const from = take.notes[firstNote].onsetSec;
    const to = take.notes[lastNote].offsetSec;
    await page.locator('#loop').click();
    await page.locator('.pick').nth(1).click();
    await until(`!document.querySelector('audio').paused`);
    await page.evaluate(`document.querySelector('audio').currentTime = ${to - 0.1}`);
    await until(
      `document.querySelector('audio').currentTime < ${to - 0.5} && !document.querySelector('audio').paused`,
    );
    expect((await audio()).at).toBeGreaterThan(from - 0.05);
    await page.locator('#play').click();
    expect((await audio()).paused).toBe(true);
    await page.locator('#loop').click();
  });

  it('keeps a speed for each line, and joins a line to its neighbours', async () => {
    await page.locator('.pick').nth(2).click();
    await page.locator('#slow').click();
    await until(`document.querySelector('audio').playbackRate === 0.6`);
    await page.locator('.pick').nth(0).click();
    await until(`document.querySelector('audio').playbackRate === 1`);
    await page.locator('.pick').nth(2).click();
    await until(`document.querySelector('audio').playbackRate === 0.6`);
    await page.locator('#slow').click();
    await page.keyboard.press('Escape');
    await page.locator('#more').click();
    await page.locator('#span').selectOption('sofar');
    await page.locator('#play').click();
    await until(`!document.querySelector('audio').paused`);
    expect((await audio()).at).toBeLessThan(take.notes[take.phrases[0].lastNote].offsetSec);
    await page.keyboard.press('Escape');
    await page.locator('#span').selectOption('one');
  });

  it('leaves a gap to answer, and gets faster each time', async () => {
    await page.locator('#gap').click();
    await page.locator('#rise').click();
    expect(await page.locator('#speed').inputValue()).toBe('0.6');
    await page.locator('#play').click();
    const { lastNote } = take.phrases[2];
    await page.evaluate(
      `document.querySelector('audio').currentTime = ${take.notes[lastNote].offsetSec - 0.1}`,
    );
    await expect.poll(() => page.locator('.status').textContent(), { timeout: 10_000 }).toBe('Your turn');
    expect((await audio()).paused).toBe(true);
    await expect.poll(() => page.locator('#speed').inputValue(), { timeout: 20_000 }).toBe('0.65');
    await page.locator('#gap').click();
    await page.locator('#rise').click();
    await page.locator('#loop').click();
    await page.keyboard.press('Escape');
    await page.locator('#speed').selectOption('1');
    await page.locator('#more').click();
  }, 40_000);

  it('lights up the note on the harp, and leads to the hard spots', async () => {
    await page.locator('.go').first().click();
    await until(`document.querySelector('.cell.now')`);
    const [cell, note] = (await page.evaluate(
      `['.cell.now', '.note.now'].map((each) => document.querySelector(each).dataset.tab)`,
    )) as string[];
    expect(cell).toBe(note);
    await page.keyboard.press('Escape');
    await page.locator('.pick').first().click();
    await page.keyboard.press('Escape');
  });

  it('shows the staff of the line that is practised', async () => {
    const staff = page.getByRole('img', { name: 'Line 1 on a staff; the same notes as the tab above' });
    expect((await staff.boundingBox())?.height).toBeGreaterThan(40);
    expect(await page.locator('.line:not(.current) .staff:visible').count()).toBe(0);
  });

  it.each(['light', 'dark'] as const)('has no faults that axe-core finds, %s', async (colorScheme) => {
    const lone = await browser.newPage({ viewport: { width: 390, height: 844 }, colorScheme });
    await lone.goto(page.url());
    await lone.locator('#more').click();
    await lone.addScriptTag({ content: readFileSync('node_modules/axe-core/axe.min.js', 'utf8') });
    const { violations } = (await lone.evaluate('axe.run()')) as {
      violations: { id: string; nodes: { html: string }[] }[];
    };
    expect(violations.map(({ id, nodes }) => [id, nodes.slice(0, 3).map(({ html }) => html)])).toEqual([]);
    await lone.close();
  });

  it('has no touch target smaller than 44 pixels', async () => {
    const small = await page.evaluate(`Array.from(document.querySelectorAll('button, select'))
      .filter((each) => each.offsetParent !== null).map((each) => each.getBoundingClientRect())
      .filter(({ width, height }) => width < 43.5 || height < 43.5).length`);
    expect(small).toBe(0);
  });

  it('slows down and keeps the pitch', async () => {
    await page.locator('#more').click();
    await page.locator('#speed').selectOption('0.5');
    await page.locator('#play').click();
    await until(`!document.querySelector('audio').paused`);
    expect(await audio()).toMatchObject({ rate: 0.5, pitch: true });
    await page.keyboard.press('Escape');
    await page.locator('#speed').selectOption('1');
    await page.locator('#more').click();
  });

  it('can be used from the keyboard: arrows, Enter, Escape', async () => {
    await page.locator('.note').first().focus();
    await page.keyboard.press('ArrowRight');
    await page.keyboard.press('ArrowRight');
    expect(await page.evaluate('document.activeElement.dataset.n')).toBe('2');
    await page.keyboard.press('Enter');
    await until(`!document.querySelector('audio').paused`);
    await page.keyboard.press('Escape');
    expect((await audio()).paused).toBe(true);
  });

  it('can focus pictures by keyboard only if they are wider than the screen', async () => {
    const stops = () =>
      page.evaluate(`Array.from(document.querySelectorAll('.current .scroll'), (box) =>
        [box.scrollWidth > box.clientWidth, box.tabIndex === 0, box.getAttribute('role') === 'group'])`) as Promise<
        boolean[][]
      >;
    await page.locator('#more').click();
    await page.locator('#show-pitch').click();
    const onPhone = await stops();
    expect(onPhone).toContainEqual([true, true, true]);
    await page.setViewportSize({ width: 1600, height: 740 });
    await expect.poll(stops).toEqual(onPhone.map(() => [false, false, false]));
    await page.setViewportSize({ width: 360, height: 740 });
    await expect.poll(stops).toEqual(onPhone);
  });

  it('continues with arrow keys and Tab from the note that was clicked', async () => {
    await page.locator('.note').nth(5).click();
    await page.keyboard.press('ArrowRight');
    expect(await page.evaluate('document.activeElement.dataset.n')).toBe('6');
    await page.keyboard.press('Tab');
    await page.keyboard.press('Shift+Tab');
    expect(await page.evaluate('document.activeElement.dataset.n')).toBe('6');
    await page.keyboard.press('Space');
    await until(`!document.querySelector('audio').paused`);
    await until(`document.querySelector('.note[aria-current=true]')?.dataset.n === '6'`);
    await page.keyboard.press('Escape');
  });

  it('keeps the focused element clear of the player below it', async () => {
    await page.locator('#more').click();
    await page.setViewportSize({ width: 360, height: 640 });
    await page.locator('.pick').first().focus();
    for (let i = 0; i < 6; i++) {
      await page.keyboard.press('Tab');
      const [bottom, above, inside] =
        (await page.evaluate(`(() => { const box = (e) => e.getBoundingClientRect();
        const player = document.querySelector('.player');
        return [box(document.activeElement).bottom, box(player).top, Number(player.contains(document.activeElement))]; })()`)) as number[];
      if (inside === 0) expect(bottom).toBeLessThanOrEqual(above + 1);
    }
    await page.setViewportSize({ width: 360, height: 740 });
  });

  it('names each note and each control for a screen reader', async () => {
    await page.locator('#more').click();
    const tree = await page.locator('body').ariaSnapshot();
    await page.locator('#more').click();
    expect(tree).toContain(`- button "1 draw A- 'Twas"`);
    expect(tree).toContain('- button "Line 1, play"');
    expect(tree).toMatch(/combobox "Speed of this line, same pitch"/);
  });

  it('plays a finding from its button, with a name for screen readers, and by keyboard', async () => {
    const button = page.getByRole('button', { name: /^Hear finding 1, at 0:/ });
    await button.focus();
    await page.keyboard.press('Enter');
    const { onsetSec } = take.notes[2];
    await until(`!document.querySelector('audio').paused`);
    expect(Math.abs((await audio()).at - onsetSec)).toBeLessThan(1);
    await page.keyboard.press('Escape');
    expect(await page.locator('body').ariaSnapshot()).toMatch(/- button "3 draw zing _ 1\. wrong note/);
  });

  it('keeps what sounds in sight if a picture is wider than the phone', async () => {
    const index = take.phrases[0].lastNote;
    await page.locator('.pick').first().click();
    await page.keyboard.press('Escape');
    await page.evaluate(`document.querySelectorAll('.scroll')[0].scrollLeft = 0`);
    const left = async () => (await page.locator(`.bar[data-n="${index}"]`).boundingBox())!.x;
    expect(await left()).toBeGreaterThan(360);
    await page.locator('.note').nth(index).click();
    await expect.poll(left, { timeout: 10_000, interval: 20 }).toBeLessThan(360);
    await page.keyboard.press('Escape');
  });

  it('fits a phone: nothing but pictures is wider than the screen', async () => {
    expect(await page.evaluate('document.documentElement.scrollWidth')).toBeLessThanOrEqual(360);
  });

  it.each([
    ['', false],
    [' in browsers that pass over the tag, too', true],
  ])(
    'starts the sound of a note where the note starts, to 10 ms%s',
    async (_, passedOver) => {
      const { noise, path } = await exportNoise();
      if (passedOver) {
        const page = readFileSync(path, 'utf8');
        writeFileSync(path, page.replace(/(?<=audio\/mpeg;base64,)[^"]+/, withoutTag));
      }
      // The page's policy would forbid the worklet; one of the audio thread loses no block however busy the machine is.
      const lone = await browser.newPage({ bypassCSP: true });
      await lone.goto(pathToFileURL(path).href);
      await expect
        .poll(() => lone.locator('audio').getAttribute('data-unpacked'), { timeout: 10_000 })
        .toBe('yes');
      await lone.evaluate(`(async () => {
      const context = new AudioContext({ sampleRate: ${RATE} });
      const tape = 'registerProcessor("tape", class extends AudioWorkletProcessor { process([[channel]]) { this.port.postMessage(channel ? Array.from(channel) : new Array(128).fill(0)); return true; } })';
      await context.audioWorklet.addModule('data:text/javascript,' + encodeURIComponent(tape));
      const node = new AudioWorkletNode(context, 'tape');
      window.heard = [];
      node.port.onmessage = ({ data }) => window.heard.push(...data);
      context.createMediaElementSource(document.querySelector('audio')).connect(node).connect(context.destination);
    })()`);
      const heardOf = (what: string) => lone.evaluate(`window.heard.${what}.length`);
      for (const index of [0, 9, take.notes.length - 1]) {
        const { onsetSec } = take.notes[index];
        await lone.evaluate(`document.querySelector('audio').pause()`);
        // Not before what sounded last has died away.
        await expect
          .poll(() => lone.evaluate('window.heard.splice(0).every((value) => value === 0)'), {
            timeout: 10_000,
            interval: 100,
          })
          .toBe(true);
        await lone.locator('.note').nth(index).click();
        await expect
          .poll(() => heardOf('filter((value) => value !== 0)'), { timeout: 10_000 })
          .toBeGreaterThan(0.1 * RATE);
        const sound = (await lone.evaluate('window.heard')) as number[];
        const first = sound.findIndex((value) => value !== 0);
        const lateSec = lagOf(sound.slice(first, first + 0.05 * RATE), noise, onsetSec);
        expect(Math.abs(lateSec), `note ${index} starts ${lateSec} s late`).toBeLessThan(0.01);
      }
      await lone.close();
    },
    60_000,
  );

  it('prints without its controls', async () => {
    // A note that was sounding is printed as the others are.
    await page.evaluate(`document.querySelector('.note').classList.add('now')`);
    await page.emulateMedia({ media: 'print' });
    expect(await page.evaluate(`getComputedStyle(document.querySelector('.note b')).color`)).toBe(
      'rgb(0, 0, 0)',
    );
    expect(await page.locator('.player').isVisible()).toBe(false);
    expect(await page.locator('.note').first().isVisible()).toBe(true);
    await page.emulateMedia({ media: 'screen' });
  });
});
