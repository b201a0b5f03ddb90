import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { type Browser, chromium, type Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { Samples } from '../../../src/audio/samples.ts';
import { run } from '../../../src/cli/run.ts';
import { evenGain } from '../../../src/recording/even-loudness.ts';
import { soundTab } from '../../../src/sound/tab-sound.ts';
import { encodeWav } from '../../../src/sound/write-wav.ts';
import { formatTake } from '../../../src/take/format.ts';
import { captureIo } from '../../cli/captured-io.ts';
import { AMAZING_GRACE, playTune, withWords } from '../tunes.ts';

const BROWSER = [
  process.env.CHROMIUM,
  '/usr/bin/chromium',
  '/usr/bin/chromium-browser',
  '/usr/bin/google-chrome',
].find((path) => path !== undefined && existsSync(path));
const without = BROWSER === undefined ? ' (skipped: no Chromium; install it or name it in CHROMIUM)' : '';
const RATE = 22_050;

/** The number of touches in which a pupil with a phone must be able to do anything. */
const MOST_TOUCHES = 2;

let dir: string;
let browser: Browser;
/** As many as the pupil has made since the page was opened. */
let touches = 0;
let page: Page;

/** The pupil's take beside the teacher's, both with their recordings, as a page. */
async function makePage(): Promise<string> {
  const pupil = withWords(playTune('amazing-grace').take, AMAZING_GRACE);
  const teacher = playTune('amazing-grace', 'C', 80).take;
  for (const [name, take] of [
    ['pupil', pupil],
    ['teacher', teacher],
  ] as const) {
    const { notes, source } = take;
    writeFileSync(
      join(dir, `${name}.wav`),
      encodeWav(soundTab(notes, 0, source.durationSec, RATE), RATE, 16),
    );
    const named = { ...take, source: { ...source, file: `${name}.wav` } };
    writeFileSync(join(dir, `${name}.take.json`), formatTake(named));
  }
  const { io, texts } = captureIo();
  const argv = [
    'export',
    join(dir, 'pupil.take.json'),
    '--as',
    'html',
    '--against',
    join(dir, 'teacher.take.json'),
  ];
  expect(await run(argv, io), texts.stderr).toBe(0);
  return join(dir, 'pupil.html');
}

describe.skipIf(BROWSER === undefined)(`practising from the page${without}`, () => {
  let address: string;
  beforeAll(async () => {
    dir = mkdtempSync(join(tmpdir(), 'reedtrace-practise-'));
    address = pathToFileURL(await makePage()).href;
    browser = await chromium.launch({
      executablePath: BROWSER!,
      // A microphone that beeps every second, which no one has to allow.
      args: [
        '--no-sandbox',
        '--mute-audio',
        '--use-fake-device-for-media-stream',
        '--use-fake-ui-for-media-stream',
      ],
    });
  }, 120_000);
  afterAll(async () => {
    await browser?.close();
    rmSync(dir, { recursive: true, force: true });
  });
  beforeEach(async () => {
    page = await browser.newPage({ viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true });
    await page.goto(address);
    await until(`${OWN}.dataset.unpacked === 'yes' && ${OWN}.duration > 0`);
    touches = 0;
    return () => page.close();
  });

  /** The page's own policy forbids the usual way of waiting, which evaluates text inside it. */
  const until = (condition: string, timeout = 20_000) =>
    expect.poll(() => page.evaluate(`Boolean(${condition})`), { timeout, interval: 20 }).toBe(true);
  const touch = async (name: string | RegExp) => {
    await page.getByRole('button', { name }).first().tap();
    touches++;
    expect(touches, 'touches').toBeLessThanOrEqual(MOST_TOUCHES);
  };
  const status = () => page.locator('.status').textContent();
  const OWN = `document.querySelector('audio.own')`;
  const TEACHER = `document.querySelector('audio.teacher')`;

  it('finds the hard line and plays it', async () => {
    await touch(/^Practise line \d+: /);
    await until(`!${OWN}.paused && document.querySelector('.line.current .tough')`);
  });

  it('plays a line slowly', async () => {
    await touch('Line 2, play');
    await touch('Slow');
    await until(
      `!${OWN}.paused && ${OWN}.playbackRate < 1 && document.querySelector('.line.current').dataset.line === '1'`,
    );
    expect(await page.evaluate(`${OWN}.preservesPitch`)).toBe(true);
  });

  it('loops it', async () => {
    await touch('Line 1, play');
    await touch('Loop');
    const end = Number(await page.evaluate(`document.querySelector('.line').dataset.to`));
    await page.evaluate(`${OWN}.currentTime = ${end - 0.1}`);
    await until(`!${OWN}.paused && ${OWN}.currentTime < ${end - 1}`);
  });

  it('plays with a count-in, again and again, until it is stopped', async () => {
    await touch('Play along');
    expect(await status()).toBe('Counting in');
    expect(await page.evaluate(`${OWN}.paused`)).toBe(true);
    await until(`!${OWN}.paused`);
    const end = Number(await page.evaluate(`document.querySelector('.line').dataset.to`));
    await page.evaluate(`${OWN}.currentTime = ${end - 0.1}`);
    await expect.poll(status, { timeout: 10_000 }).toBe('Counting in');
    await touch('Stop');
    await page.waitForTimeout(500);
    expect(await page.evaluate(`${OWN}.paused`)).toBe(true);
  });

  it('counts in a bar and the beats before the pick-up, at the speed of the line', async () => {
    // Three-four time at 96 with a pick-up of a beat: three beats and two, of 0.625 s each.
    const seconds = await page.evaluate(`(() => new Promise((done) => {
      const began = performance.now(), own = ${OWN};
      own.addEventListener('play', () => done((performance.now() - began) / 1000), { once: true });
      document.getElementById('along').click();
    }))()`);
    const [beat, count, at] = (await page.evaluate(
      `[document.querySelector('.piece').dataset.beat, document.querySelector('.piece').dataset.count, document.querySelector('.line').dataset.at].map(Number)`,
    )) as number[];
    expect([count, at]).toEqual([3, 2]);
    // A busy machine is late, never early.
    expect(seconds).toBeGreaterThan(beat * 5 - 0.02);
    expect(seconds).toBeLessThan(beat * 6);
  });

  it('plays the pupil and the teacher', async () => {
    await touch('Teacher, me');
    await until(`!${TEACHER}.paused`);
    const to = Number(await page.evaluate(`document.querySelector('.line').dataset.tto`));
    await page.evaluate(`${TEACHER}.currentTime = ${to - 0.1}`);
    await until(`!${OWN}.paused && ${TEACHER}.paused`);
  });

  it('records the pupil, counted in, and plays the line and then the pupil', async () => {
    await touch('Record me');
    await expect.poll(status).toBe('Counting in');
    await expect.poll(status, { timeout: 20_000 }).toMatch(/^Recording: play Line 1 now$/);
    expect(await page.getByRole('button', { name: 'Done' }).getAttribute('aria-pressed')).toBe('true');
    await page.waitForTimeout(1500);
    await touch('Done');
    await expect.poll(status).toBe('First the line, then you');
    await until(`!${OWN}.paused`);
    const end = Number(await page.evaluate(`document.querySelector('.line').dataset.to`));
    await page.evaluate(`${OWN}.currentTime = ${end - 0.1}`);
    await expect.poll(status, { timeout: 10_000 }).toBe('You');
    await expect.poll(status, { timeout: 20_000 }).toBe('');
    // And once more, in one touch; then another page shows nothing of it.
    touches = 0;
    await touch('Line, me');
    await until(`!${OWN}.paused`);
    await page.reload();
    expect(await page.locator('#again').isVisible()).toBe(false);
  }, 90_000);

  // On a busy machine the browser drops beeps: then once more.
  it('keeps what the microphone records: here the beeps of the test browser', {
    retry: 2,
    timeout: 60_000,
  }, async () => {
    await touch('Record me');
    await expect.poll(status, { timeout: 20_000 }).toMatch(/^Recording/);
    await page.evaluate(`(() => {
      const make = URL.createObjectURL;
      URL.createObjectURL = (blob) => { window.kept = window.kept || blob; return make.call(URL, blob); };
    })()`);
    await page.waitForTimeout(2500);
    await touch('Done');
    // What was recorded comes when the recorder has ended.
    await expect.poll(() => page.evaluate('Boolean(window.kept)'), { timeout: 10_000 }).toBe(true);
    const [seconds, samples] = (await page.evaluate(`window.kept.arrayBuffer()
      .then((bytes) => new OfflineAudioContext(1, 1, 44100).decodeAudioData(bytes))
      .then((sound) => [sound.duration, Array.from(sound.getChannelData(0))])`)) as [number, number[]];
    expect(seconds).toBeGreaterThan(1.5);
    expect(samples.reduce((most, value) => Math.max(most, value), 0)).toBeGreaterThan(0.05);
    // As loud as the recordings of the page, by another implementation.
    const gainDb = 20 * Math.log10(evenGain(Samples.from(Float32Array.from(samples), 44_100)));
    expect(Math.abs(gainDb)).toBeLessThan(1);
  });

  it('releases the microphone when stopped, even while counting in', async () => {
    await page.evaluate(`(() => {
      const ask = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
      navigator.mediaDevices.getUserMedia = (what) => ask(what).then((stream) => (window.stream = stream));
    })()`);
    const live = () =>
      page.evaluate(`window.stream.getTracks().filter((track) => track.readyState === 'live').length`);
    await touch('Record me');
    await expect.poll(status).toBe('Counting in');
    expect(await live()).toBe(1);
    await touch('Stop');
    expect(await live()).toBe(0);
    touches = 0;
    await touch('Record me');
    await expect.poll(status, { timeout: 20_000 }).toMatch(/^Recording/);
    await page.keyboard.press('Escape');
    expect(await live()).toBe(0);
    expect(await page.getByRole('button', { name: 'Record me' }).getAttribute('aria-pressed')).toBe('false');
    expect(await page.locator('#again').isVisible()).toBe(false);
  }, 60_000);

  it('says what to do when the microphone is refused', async () => {
    await page.evaluate(`navigator.mediaDevices.getUserMedia = () => Promise.reject(new Error('refused'))`);
    await touch('Record me');
    await expect.poll(status).toBe('The microphone could not be used: allow it for this page.');
  });

  it('drills a bend by ear: the target, from the plain note, with time to hold it', async () => {
    await page.evaluate(`(() => {
      window.tones = [];
      const make = AudioContext.prototype.createOscillator;
      AudioContext.prototype.createOscillator = function () {
        const voice = make.call(this), tone = { hz: [] };
        const set = voice.frequency.setValueAtTime.bind(voice.frequency), glide = voice.frequency.exponentialRampToValueAtTime.bind(voice.frequency);
        voice.frequency.setValueAtTime = (hz, at) => { tone.hz.push(hz); return set(hz, at); };
        voice.frequency.exponentialRampToValueAtTime = (hz, at) => { tone.hz.push(hz); return glide(hz, at); };
        const start = voice.start.bind(voice);
        voice.start = (at) => { tone.at = at - this.currentTime; window.tones.push(tone); start(at); };
        return voice;
      };
    })()`);
    // 3 draw on the C harp is B4 (493.88 Hz), bent a whole tone A4 (440 Hz): equal temperament on A4 = 440 Hz.
    const tones = () => page.evaluate('window.tones.splice(0)') as Promise<{ hz: number[]; at: number }[]>;
    const sounded = (heard: readonly { hz: number[] }[]) => heard.map(({ hz }) => hz.map(Math.round));
    await touch("Hear it: −3''");
    expect(sounded(await tones())).toEqual([[440]]);
    await touch("From the plain note: −3''");
    expect(sounded(await tones())).toEqual([[494, 494, 440]]);
    touches = 0;
    await touch("Hear, then hold: −3''");
    const both = await tones();
    expect(sounded(both)).toEqual([[440], [440]]);
    expect(both[1].at - both[0].at).toBeCloseTo(5.5, 1);
    expect(await status()).toContain('hold it four seconds');
  });
});
