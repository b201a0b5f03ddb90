import { type ChildProcess, spawn } from 'node:child_process';
import { accessSync, constants, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { encodeWav } from './write.ts';

/** A program of the system that plays WAV files. */
export interface Player {
  readonly command: string;
  args(path: string): readonly string[];
}

const player = (command: string, ...options: string[]): Player => ({
  command,
  args: (path) => [...options, path],
});

/** Players that are looked for, by system, the best first. */
const PLAYERS: Readonly<Record<string, readonly Player[]>> = {
  darwin: [player('afplay')],
  win32: [
    {
      command: 'powershell.exe',
      args: (path) => [
        '-NoProfile',
        '-Command',
        `(New-Object Media.SoundPlayer '${path.replaceAll("'", "''")}').PlaySync()`,
      ],
    },
  ],
  linux: [
    player('pw-play'),
    player('paplay'),
    player('aplay', '-q'),
    player('ffplay', '-nodisp', '-autoexit', '-loglevel', 'quiet'),
    player('mpv', '--no-video', '--really-quiet'),
    player('play', '-q'),
  ],
};

/** The first known player on the PATH; null when there is none. */
export function findPlayer(
  env: Readonly<Record<string, string | undefined>>,
  platform: string,
): Player | null {
  const folders = (env.PATH ?? env.Path ?? '').split(delimiter).filter((folder) => folder !== '');
  const isThere = (path: string): boolean => {
    try {
      accessSync(path, constants.X_OK);
      return true;
    } catch {
      return false;
    }
  };
  const known = PLAYERS[platform] ?? PLAYERS.linux;
  return known.find(({ command }) => folders.some((folder) => isThere(join(folder, command)))) ?? null;
}

/** What to install where no player was found. */
export function playerAdvice(platform: string): string {
  return platform === 'linux'
    ? 'no player for sound was found: install alsa-utils (aplay), pipewire (pw-play), sox or ffmpeg'
    : 'no player for sound was found: install ffmpeg or mpv and put it on the PATH';
}

/** What to play. */
export interface Excerpt {
  readonly samples: Float32Array;
  readonly sampleRate: number;
  /** Again and again until stopped. */
  readonly loop?: boolean;
}

/** Plays one excerpt at a time through a player of the system. */
export class Playback {
  readonly #player: Player;
  #folder: string | null = null;
  #child: ChildProcess | null = null;
  #turn = 0;

  constructor(chosen: Player) {
    this.#player = chosen;
  }

  /**
   * Stops what sounds and plays this.
   * @param onEnd  called when it has ended by itself; with a sentence when the player failed
   */
  play(excerpt: Excerpt, onEnd: (failure: string | null) => void): void {
    this.stop();
    this.#folder ??= mkdtempSync(join(tmpdir(), 'reedtrace-play-'));
    const path = join(this.#folder, 'excerpt.wav');
    writeFileSync(path, encodeWav(excerpt.samples, excerpt.sampleRate, 16));
    this.#start(path, excerpt.loop ?? false, this.#turn, onEnd);
  }

  #start(path: string, loop: boolean, turn: number, onEnd: (failure: string | null) => void): void {
    const { command, args } = this.#player;
    const child = spawn(command, args(path), { stdio: 'ignore' });
    this.#child = child;
    let ended = false;
    const end = (failure: string | null): void => {
      if (ended || turn !== this.#turn) return;
      ended = true;
      if (loop && failure === null) this.#start(path, loop, turn, onEnd);
      else {
        this.#child = null;
        onEnd(failure);
      }
    };
    child.on('error', (error) => end(`${command} could not be started (${error.message})`));
    child.on('exit', (code) => end(code === 0 ? null : `${command} could not play (it ended with ${code})`));
  }

  /** True while something sounds. */
  get isPlaying(): boolean {
    return this.#child !== null;
  }

  stop(): void {
    this.#turn++;
    this.#child?.kill('SIGTERM');
    this.#child = null;
  }

  /** Stops, and removes the temporary file. */
  close(): void {
    this.stop();
    if (this.#folder !== null) rmSync(this.#folder, { recursive: true, force: true });
    this.#folder = null;
  }
}
