import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseMidi } from 'midi-file';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { run } from '../../../src/cli/run.ts';
import { formatTake } from '../../../src/take/format.ts';
import { playTune } from '../../export/tunes.ts';
import { captureIo } from '../captured-io.ts';

/** The tune is in 3/4 with a pick-up of a quarter, at about 61: the options say otherwise, with twice that tempo. */
const TOLD = ['--metre', '6/4', '--pickup', '4', '--bpm', '125', '--form', 'Theme Answer'];

let folder: string;
/** As it was played, by the beats that were given. */
let bpm: number;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'reedtrace-told-'));
  const take = join(folder, 'tune.take.json');
  await writeFile(take, formatTake(playTune('amazing-grace').take));
  const { io, texts } = captureIo();
  const formats = 'tab,musicxml,midi,abc,csv,json,svg,html';
  const code = await run(['export', take, '--as', formats, ...TOLD, '--no-save', '--title', 'Told'], io);
  expect([code, texts.stderr.includes('error')]).toEqual([0, false]);
  bpm = JSON.parse(await written('json')).beats.tempoBpm;
  expect(Math.abs(bpm - 125)).toBeLessThan(12);
}, 60_000);
afterAll(() => rm(folder, { recursive: true, force: true }));

const written = (extension: string) => readFile(join(folder, `tune.${extension}`), 'utf8');

describe('metre, pick-up, tempo and form given as options', () => {
  it('go into tab', async () => {
    const tab = await written('txt');
    expect(tab).toContain(`6/4, ${Math.round(bpm)} quarter notes a minute`);
    expect(tab).toContain('Theme, line 1');
    expect(tab).toContain('Answer, line 1');
  });

  it('go into MusicXML', async () => {
    const xml = await written('musicxml');
    expect(xml).toContain('<beats>6</beats>');
    expect(xml).toContain('<beat-type>4</beat-type>');
    expect(xml).toContain(`<per-minute>${Math.round(bpm)}</per-minute>`);
    expect([...xml.matchAll(/<rehearsal>(.*?)<\/rehearsal>/g)].map(([, name]) => name)).toEqual([
      'Theme',
      'Answer',
    ]);
    const [pickup] = /<measure number="0" implicit="yes">.*?<\/measure>/s.exec(xml) ?? [''];
    const divisions = Number(/<divisions>(\d+)</.exec(xml)?.[1]);
    const lengths = [...pickup.matchAll(/<duration>(\d+)</g)].map(([, ticks]) => Number(ticks));
    expect(lengths.reduce((sum, ticks) => sum + ticks, 0)).toBe(4 * divisions);
  });

  it('go into MIDI', async () => {
    const { tracks } = parseMidi(await readFile(join(folder, 'tune.mid')));
    const events = tracks.flat();
    expect(events).toContainEqual(
      expect.objectContaining({ type: 'timeSignature', numerator: 6, denominator: 4 }),
    );
    const tempo = events.find(({ type }) => type === 'setTempo') as { microsecondsPerBeat: number };
    expect(60e6 / tempo.microsecondsPerBeat).toBeCloseTo(bpm, 1);
    const names = events.flatMap((event) => (event.type === 'marker' ? [event.text] : []));
    expect(names).toEqual(['Theme', 'Answer']);
  });

  it('go into ABC', async () => {
    const abc = await written('abc');
    expect(abc).toContain('\nM:6/4\n');
    expect(abc).toContain(`\nQ:1/4=${Math.round(bpm)}\n`);
    expect([...abc.matchAll(/\[P:(.*?)\]/g)].map(([, name]) => name)).toEqual(['Theme', 'Answer']);
  });

  it('go into a table', async () => {
    const [head, ...rows] = (await written('csv')).trim().split(/\r?\n/);
    const column = (name: string) =>
      rows.map((row) => row.split(',')[head.replace('\uFEFF', '').split(',').indexOf(name)]);
    expect([...new Set(column('section'))]).toEqual(['Theme', 'Answer']);
    // The pick-up is bar 0; the third beat of six comes first where four are left.
    expect([column('bar')[0], column('beat')[0]]).toEqual(['0', '3']);
    expect(Math.floor(Math.max(...column('beat').map(Number)))).toBeGreaterThan(4);
  });

  it('go into the take as JSON', async () => {
    const { beats, phrases } = JSON.parse(await written('json'));
    expect(beats).toMatchObject({ metre: { count: 6, unit: 4 }, pickupTicks: 48 });
    expect(phrases.flatMap(({ name }: { name?: string }) => name ?? [])).toEqual(['Theme', 'Answer']);
  });

  it('go onto the sheet and the page', async () => {
    for (const extension of ['svg', 'html']) {
      const text = await written(extension);
      expect(text).toContain(`6/4, ${Math.round(bpm)} quarter notes a minute`);
      expect(text, extension).toMatch(/>Theme\b/);
      expect(text, extension).toMatch(/>Answer\b(?! gap)/);
    }
  });
});
