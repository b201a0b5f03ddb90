import { type ChildProcess, spawn } from 'node:child_process';
import { accessSync, constants, mkdtempSync, rmSync } from 'node:fs';
import { type FileHandle, open } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { encodePcm, WAV_HEADER_BYTES, wavHeader } from './write-wav.ts';

/** A program on this computer that plays WAV files. */
export interface Player {
  readonly command: string;
  args(path: string): readonly string[];
}

const player = (command: string, ...options: string[]): Player => ({
  command,
  args: (path) => [...options, path],
});

const ofAnySystem = (ending: '' | '.exe'): readonly Player[] => [
  player(`ffplay${ending}`, '-nodisp', '-autoexit', '-loglevel', 'quiet'),
  player(`mpv${ending}`, '--no-video', '--really-quiet'),
];

/** Players to look for, by operating system, best first. */
const PLAYERS: Readonly<Record<string, readonly Player[]>> = {
  darwin: [player('afplay'), ...ofAnySystem('')],
  win32: [
    {
      command: 'powershell.exe',
      args: (path) => [
        '-NoProfile',
        '-Command',
        `(New-Object Media.SoundPlayer '${path.replaceAll("'", "''")}').PlaySync()`,
      ],
    },
    ...ofAnySystem('.exe'),
  ],
  linux: [
    player('pw-play'),
    player('paplay'),
    player('aplay', '-q'),
    ...ofAnySystem(''),
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
    ? 'no sound player was found: install alsa-utils (aplay), pipewire (pw-play), sox or ffmpeg'
    : 'no sound player was found: install ffmpeg or mpv and put it on the PATH';
}

/** What to play. */
export interface Excerpt {
  /** All at once, or piece by piece, so that other work can go on between pieces. */
  readonly samples: Float32Array | Iterable<Float32Array>;
  readonly sampleRate: number;
  /** Repeat until stopped. */
  readonly loop?: boolean;
  /** Called when it begins to sound, every time round in a loop. */
  readonly onStart?: () => void;
}

/** Plays one excerpt at a time through a player of the system. */
export class Playback {
  readonly #player: Player;
  #folder: string | null = null;
  #child: ChildProcess | null = null;
  #isBusy = false;
  #turn = 0;

  constructor(chosen: Player) {
    this.#player = chosen;
  }

  /**
   * Stops what is playing, and plays this once it is written to a file.
   * @param onEnd called when it has ended by itself, with a sentence if it could not be played
   */
  play(excerpt: Excerpt, onEnd: (failure: string | null) => void): void {
    this.stop();
    const turn = this.#turn;
    this.#isBusy = true;
    this.#write(excerpt, turn).then(
      (path) => {
        if (turn === this.#turn) this.#start(path, excerpt, turn, onEnd);
        else removeQuietly(path);
      },
      (error: NodeJS.ErrnoException) => {
        if (turn !== this.#turn) return;
        this.#isBusy = false;
        onEnd(`can't be played: no room for the sound in '${tmpdir()}' (${error.code ?? error.message})`);
      },
    );
  }

  /** Writes an excerpt as a WAV file; stops when another one is asked for. */
  async #write({ samples, sampleRate }: Excerpt, turn: number): Promise<string> {
    this.#folder ??= mkdtempSync(join(tmpdir(), 'reedtrace-play-'));
    const path = join(this.#folder, `excerpt-${turn}.wav`);
    const file = await open(path, 'w');
    try {
      let count = 0;
      let at = WAV_HEADER_BYTES;
      for (const piece of samples instanceof Float32Array ? secondsOf(samples, sampleRate) : samples) {
        if (turn !== this.#turn) return path;
        const bytes = encodePcm(piece, 16);
        await writeAll(file, bytes, at);
        at += bytes.length;
        count += piece.length;
      }
      await writeAll(file, wavHeader(count, sampleRate, 16), 0);
    } finally {
      await file.close();
    }
    return path;
  }

  #start(path: string, excerpt: Excerpt, turn: number, onEnd: (failure: string | null) => void): void {
    const { command, args } = this.#player;
    const child = spawn(command, args(path), { stdio: ['ignore', 'ignore', 'pipe'] });
    this.#child = child;
    let said = '';
    child.stderr?.setEncoding('utf8').on('data', (text: string) => {
      said = (said + text).slice(0, MOST_SAID);
    });
    child.on('spawn', () => {
      if (turn === this.#turn) excerpt.onStart?.();
    });
    let ended = false;
    const end = (failure: string | null): void => {
      if (ended) return;
      ended = true;
      const isCurrent = turn === this.#turn;
      if (isCurrent && excerpt.loop && failure === null) {
        this.#start(path, excerpt, turn, onEnd);
        return;
      }
      removeQuietly(path);
      if (!isCurrent) return;
      this.#child = null;
      this.#isBusy = false;
      onEnd(failure);
    };
    child.on('error', (error) => end(`${command} could not be started (${error.message})`));
    // Not `exit`: what the player prints about a missing sound card may still be on its way.
    child.on('close', (code) => end(code === 0 ? null : `${command} could not play: ${whyNot(said, code)}`));
  }

  /** True while something sounds, or is about to. */
  get isPlaying(): boolean {
    return this.#isBusy;
  }

  stop(): void {
    this.#turn++;
    this.#isBusy = false;
    this.#child?.kill('SIGTERM');
    this.#child = null;
  }

  /** Stops, and removes the temporary file. */
  close(): void {
    this.stop();
    if (this.#folder !== null) removeQuietly(this.#folder);
    this.#folder = null;
  }
}

/** How many characters of what a player prints are kept. */
const MOST_SAID = 2000;

/** The first line that a player printed, made safe to print. Most failures are due to a missing sound card. */
function whyNot(said: string, code: number | null): string {
  const [line = ''] = said.split(/[\r\n]+/).filter((each) => each.trim() !== '');
  const clean = line
    .replace(/\p{Cc}/gu, ' ')
    .trim()
    .slice(0, 100);
  return clean === ''
    ? `it ended with ${code}; is there a sound card?`
    : `'${clean}'; is there a sound card?`;
}

function* secondsOf(samples: Float32Array, sampleRate: number): Generator<Float32Array> {
  for (let i = 0; i < samples.length; i += sampleRate) yield samples.subarray(i, i + sampleRate);
}

async function writeAll(file: FileHandle, bytes: Uint8Array, at: number): Promise<void> {
  let written = 0;
  while (written < bytes.length) {
    const { bytesWritten } = await file.write(bytes, written, bytes.length - written, at + written);
    written += bytesWritten;
  }
}

/** On some systems a file that another program is still reading can't be removed; it stays in the temporary folder. */
function removeQuietly(path: string): void {
  try {
    rmSync(path, { recursive: true, force: true });
  } catch {
    // It stays.
  }
}
