import { chmodSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { findPlayer, Playback, playerAdvice } from '../../src/sound/play.ts';

let dir: string;
beforeAll(() => {
  dir = mkdtempSync(join(tmpdir(), 'reedtrace-players-'));
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

/** A player that writes down what it was given; `sleep` keeps it playing. */
function fakePlayer(name: string, script: string): string {
  const folder = join(dir, name);
  mkdirSync(folder, { recursive: true });
  writeFileSync(join(folder, 'aplay'), `#!/bin/sh\n${script}\n`);
  chmodSync(join(folder, 'aplay'), 0o755);
  return folder;
}
const SOUND = { samples: new Float32Array(800).fill(0.5), sampleRate: 8000 };

describe('the sound player', () => {
  it.skipIf(process.platform === 'win32')('is found on the PATH', () => {
    const folder = fakePlayer('found', 'exit 0');
    expect(findPlayer({ PATH: `/nowhere:${folder}` }, 'linux')?.args('a b.wav')).toEqual(['-q', 'a b.wav']);
    expect(findPlayer({ PATH: '/nowhere' }, 'linux')).toBeNull();
    expect(findPlayer({}, 'linux')).toBeNull();
    expect(playerAdvice('linux')).toContain('alsa-utils');
  });

  it.skipIf(process.platform === 'win32')("is the system's own, or one that any system may have", () => {
    const folder = join(dir, 'systems');
    mkdirSync(folder);
    const put = (name: string) => writeFileSync(join(folder, name), '', { mode: 0o755 });
    const found = (platform: string) => findPlayer({ Path: folder }, platform)?.command;
    // What the advice says to install is looked for.
    for (const name of ['ffplay', 'ffplay.exe']) put(name);
    expect(['darwin', 'win32', 'linux', 'freebsd'].map(found)).toEqual([
      'ffplay',
      'ffplay.exe',
      'ffplay',
      'ffplay',
    ]);
    for (const name of ['afplay', 'powershell.exe', 'aplay']) put(name);
    expect(['darwin', 'win32', 'linux'].map(found)).toEqual(['afplay', 'powershell.exe', 'aplay']);
    // A stroke in a name must not end the string of PowerShell.
    const args = findPlayer({ Path: folder }, 'win32')!.args("C:\\O'Neil\\a.wav");
    expect(args.at(-1)).toContain("'C:\\O''Neil\\a.wav'");
  });
});

describe.skipIf(process.platform === 'win32')('playback', () => {
  const play = (folder: string) => ({ command: join(folder, 'aplay'), args: (path: string) => [path] });

  it('hands the player a WAV file and reports when it has ended', async () => {
    const log = join(dir, 'heard.wav');
    const playback = new Playback(play(fakePlayer('copies', `cp "$1" '${log}'`)));
    const onEnd = vi.fn();
    playback.play(SOUND, onEnd);
    expect(playback.isPlaying).toBe(true);
    await vi.waitFor(() => expect(onEnd).toHaveBeenCalledWith(null));
    expect(playback.isPlaying).toBe(false);
    const wav = readFileSync(log);
    // RIFF header of 44 bytes and 16-bit samples (Multimedia Programming Interface 1.0, 1991).
    expect(wav.toString('latin1', 0, 4)).toBe('RIFF');
    expect(wav.length).toBe(44 + 2 * 800);
    playback.close();
  });

  it('is stopped by the next sound, and leaves nothing behind', async () => {
    const started = join(dir, 'started');
    const playback = new Playback(play(fakePlayer('sleeps', `echo $$ >> '${started}'; exec sleep 60`)));
    const first = vi.fn();
    playback.play(SOUND, first);
    await vi.waitFor(() => expect(existsSync(started)).toBe(true));
    playback.play(SOUND, vi.fn());
    await vi.waitFor(() => expect(readFileSync(started, 'utf8').trim().split('\n')).toHaveLength(2));
    playback.close();
    const pids = readFileSync(started, 'utf8').trim().split('\n').map(Number);
    await vi.waitFor(() => {
      for (const pid of pids) expect(() => process.kill(pid, 0)).toThrow();
    });
    expect(first).not.toHaveBeenCalled();
  });

  it('loops until it is stopped', async () => {
    const turns = join(dir, 'turns');
    const playback = new Playback(play(fakePlayer('counts', `echo x >> '${turns}'`)));
    const onEnd = vi.fn();
    playback.play({ ...SOUND, loop: true }, onEnd);
    await vi.waitFor(() => expect(readFileSync(turns, 'utf8').length).toBeGreaterThan(4));
    playback.close();
    expect(onEnd).not.toHaveBeenCalled();
  });

  it('lets other work go on while pieces are made, and makes no more after a stop', async () => {
    const log = join(dir, 'pieces.wav');
    const playback = new Playback(play(fakePlayer('pieces', `cp "$1" '${log}'`)));
    let others = 0;
    const other = setInterval(() => others++);
    let made = 0;
    const pieces = function* (count: number) {
      for (made = 0; made < count; made++) {
        for (const until = performance.now() + 2; performance.now() < until; );
        yield new Float32Array(80).fill(0.5);
      }
    };
    const onEnd = vi.fn();
    playback.play({ samples: pieces(50), sampleRate: 8000 }, onEnd);
    await vi.waitFor(() => expect(onEnd).toHaveBeenCalledWith(null));
    expect(others).toBeGreaterThan(10);
    expect(readFileSync(log).length).toBe(44 + 2 * 50 * 80);
    expect(readFileSync(log).readUInt32LE(40)).toBe(2 * 50 * 80);
    playback.play({ samples: pieces(1e6), sampleRate: 8000 }, onEnd);
    await vi.waitFor(() => expect(made).toBeGreaterThan(2));
    playback.close();
    const stoppedAt = made;
    await new Promise((resolve) => setTimeout(resolve, 50));
    clearInterval(other);
    expect(made).toBeLessThanOrEqual(stoppedAt + 1);
    expect(onEnd).toHaveBeenCalledTimes(1);
  });

  it('says so in a sentence if there is no room for the sound', async () => {
    vi.stubEnv('TMPDIR', join(dir, 'not-there'));
    const onEnd = vi.fn();
    const playback = new Playback(play(fakePlayer('unheard', 'exit 0')));
    playback.play(SOUND, onEnd);
    await vi.waitFor(() => expect(onEnd).toHaveBeenCalledWith(expect.stringMatching(/no room.*ENOENT/)));
    expect(playback.isPlaying).toBe(false);
    vi.unstubAllEnvs();
  });

  it('says so in a sentence if the player fails', async () => {
    const onEnd = vi.fn();
    new Playback(play(fakePlayer('fails', 'exit 3'))).play(SOUND, onEnd);
    await vi.waitFor(() => expect(onEnd).toHaveBeenCalledWith(expect.stringContaining('ended with 3')));
    const missing = vi.fn();
    new Playback({ command: join(dir, 'missing'), args: () => [] }).play(SOUND, missing);
    await vi.waitFor(() =>
      expect(missing).toHaveBeenCalledWith(expect.stringContaining('could not be started')),
    );
  });
});
