import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { readRecordedOn, readRecording } from '../../../src/audio/read.ts';
import { fixture, temporaryFolder } from '../support.ts';

// Written by ffmpeg 5.1, not by this project: 0.1 s of 440 Hz with a date in the metadata of each format.
const DATED: Readonly<Record<string, string>> = {
  'dated.m4a': '2026-03-05',
  'dated.mp3': '2026-03-06',
  'dated-old.mp3': '2026-03-06',
  'dated.flac': '2026-03-07',
  'dated.ogg': '2026-03-08',
  'dated.opus': '2026-03-09',
  'dated.wav': '2026-03-10',
  'dated-broadcast.wav': '2026-03-11',
};

describe('the day of a recording', () => {
  const folder = temporaryFolder();

  it.each(Object.entries(DATED))('is read from %s', async (name, day) => {
    expect(await readRecordedOn(fixture(name))).toBe(day);
    const { source } = await readRecording(fixture(name));
    expect(source.recordedOn).toBe(day);
  });

  it('is unknown if the file has no date or an incomplete one', async () => {
    const text = join(folder, 'text.txt');
    writeFileSync(text, 'DATE=2026-03-05');
    expect(await readRecordedOn(text)).toBeNull();
    expect(await readRecordedOn(join(folder, 'nothing.wav'))).toBeNull();
  });
});
