import { listenToKeys } from './effects/keyboard.ts';
import type { Ending, Session } from './effects/session.ts';
import { FullScreen, hasUnicode, type Row, type Terminal } from './effects/terminal.ts';
import { warmUp } from './effects/warm-up.ts';
import { runPlain } from './plain.ts';
import { type Size, USUAL_SIZE } from './state/state.ts';
import { lineWidth, printLine, type TerminalCapabilities } from './view/line.ts';
import { screenLines } from './view/screen.ts';

export function sizeOf({ stdout }: Terminal): Size {
  return { columns: stdout.columns || USUAL_SIZE.columns, rows: stdout.rows || USUAL_SIZE.rows };
}

function rowsOf(session: Session, capabilities: TerminalCapabilities): Row[] {
  const { state } = session;
  return screenLines(state).map((line) => ({
    text: printLine(line, capabilities),
    isFull: lineWidth(line) >= state.size.columns,
  }));
}

/** Signals that end the program; unsaved changes stay in the journal. */
const ENDS = ['SIGTERM', 'SIGHUP', 'SIGINT', 'SIGQUIT'] as const;

/** Shows a session full-screen until it ends. */
export async function runScreen(
  terminal: Terminal,
  env: Readonly<Record<string, string | undefined>>,
  session: Session,
  signal: AbortSignal,
): Promise<Ending> {
  const capabilities = {
    colour: !env.NO_COLOR && env.TERM !== 'dumb',
    unicode: hasUnicode(env, process.platform),
  };
  // Such a terminal can't move the cursor.
  if (env.TERM === 'dumb') return runPlain(terminal, session, capabilities, signal);
  const screen = new FullScreen(terminal);
  screen.enter(rowsOf(session, capabilities));
  let isDue = false;
  let hasEnded = false;
  // Keys that arrive together are drawn once.
  const draw = () => {
    if (isDue) return;
    isDue = true;
    setImmediate(() => {
      isDue = false;
      if (hasEnded) return;
      screen.listenToMouse(session.state.mouse);
      screen.paint(rowsOf(session, capabilities));
    });
  };
  const stopDrawing = session.subscribe(draw);
  const stop = () => void session.abandon();
  const stopListening = listenToKeys(terminal.stdin, (key) => session.press(key), stop);
  signal.addEventListener('abort', stop);
  for (const name of ENDS) process.on(name, stop);
  const onResize = () => {
    screen.clear();
    session.resize(sizeOf(terminal));
    draw();
  };
  terminal.stdout.on('resize', onResize);
  // When the program is stopped, the terminal is restored for the shell; when it continues (`fg`), it is taken back.
  const onStop = () => {
    screen.suspend();
    process.kill(process.pid, 'SIGSTOP');
  };
  const onContinue = () => {
    screen.enterAgain();
    onResize();
  };
  process.on('SIGTSTP', onStop);
  process.on('SIGCONT', onContinue);
  try {
    setImmediate(() => void warmUp(() => session.state));
    void session.listen();
    return await session.ended;
  } finally {
    hasEnded = true;
    terminal.stdout.off('resize', onResize);
    process.removeListener('SIGTSTP', onStop);
    process.removeListener('SIGCONT', onContinue);
    stopDrawing();
    stopListening();
    screen.leave();
    signal.removeEventListener('abort', stop);
    for (const name of ENDS) process.removeListener(name, stop);
  }
}
