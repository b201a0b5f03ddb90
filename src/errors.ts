/** Exit codes of the command line (cli/README.md). */
export const EXIT = {
  done: 0,
  belowPassMark: 1,
  usage: 2,
  unreadable: 3,
  nothingPlayed: 4,
  cannotWrite: 5,
  internal: 70,
  interrupted: 130,
} as const;

export type ExitCode = (typeof EXIT)[keyof typeof EXIT];

/** Every expected failure, with the exit code that it leads to. Listed in src/cli/terminal/README.md; a test compares both. */
export const ERROR_CODES = {
  E_USAGE: EXIT.usage,
  E_NO_TERMINAL: EXIT.usage,
  E_HARP: EXIT.usage,
  E_TUNING: EXIT.usage,
  E_NOT_FOUND: EXIT.unreadable,
  E_NOT_A_FILE: EXIT.unreadable,
  E_NOT_AUDIO: EXIT.unreadable,
  E_DAMAGED_AUDIO: EXIT.unreadable,
  E_TAKE_INVALID: EXIT.unreadable,
  E_TAKE_NEWER: EXIT.unreadable,
  E_TAB_INVALID: EXIT.unreadable,
  E_MUSIC_INVALID: EXIT.unreadable,
  E_TOO_LARGE: EXIT.unreadable,
  E_NOTHING_PLAYED: EXIT.nothingPlayed,
  E_EXISTS: EXIT.cannotWrite,
  E_CANNOT_WRITE: EXIT.cannotWrite,
  E_CANNOT_PLAY: EXIT.cannotWrite,
  E_TAKE_IN_USE: EXIT.cannotWrite,
  E_TAKE_CHANGED: EXIT.cannotWrite,
  E_INTERRUPTED: EXIT.interrupted,
} as const satisfies Record<string, ExitCode>;

export type ErrorCode = keyof typeof ERROR_CODES;

/**
 * An expected failure: what happened, with the value, and what to do next.
 * The command line prints `message` and `fix` on one line and returns `exitCode`; nothing else is printed.
 */
export class ReedtraceError extends Error {
  readonly code: ErrorCode;
  /** The next step for the user, lower case, no full stop. */
  readonly fix: string;

  constructor(code: ErrorCode, message: string, fix: string, options?: { cause?: unknown }) {
    super(message, options);
    this.name = 'ReedtraceError';
    this.code = code;
    this.fix = fix;
  }

  get exitCode(): ExitCode {
    return ERROR_CODES[this.code];
  }
}
