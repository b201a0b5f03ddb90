import { listenToKeys } from './keyboard.ts';
import { printLines } from './line.ts';
import type { Ending, Session } from './session.ts';
import { type Size, USUAL_SIZE } from './state.ts';
import { FullScreen, hasUnicode, type Terminal } from './terminal.ts';
import { screenLines } from './view/screen.ts';
import { warmUp } from './warm-up.ts';

export function sizeOf({ stdout }: Terminal): Size {
  return { columns: stdout.columns || USUAL_SIZE.columns, rows: stdout.rows || USUAL_SIZE.rows };
}

/**
 * Shows a session full-screen until it ends. The first pictures are drawn, and the first keys answered, while ink is
 * loaded, which takes longer than all else.
 */
export async function runScreen(
  terminal: Terminal,
  env: Readonly<Record<string, string | undefined>>,
  session: Session,
  signal: AbortSignal,
): Promise<Ending> {
  const looks = { colour: !env.NO_COLOR && env.TERM !== 'dumb', unicode: hasUnicode(env, process.platform) };
  const screen = new FullScreen(terminal);
  const picture = () => {
    const { state, contours } = session.snapshot();
    return printLines(screenLines(state, contours), looks);
  };
  screen.enter(picture());
  const stopPainting = session.subscribe(() => screen.paint(picture()));
  const stopListening = listenToKeys(terminal.stdin, (key) => session.press(key));
  const stop = () => void session.abandon();
  signal.addEventListener('abort', stop);
  // Nothing else keeps the program alive while the layout engine of ink is compiled (WebAssembly, Node 20).
  const alive = setInterval(() => {}, 60_000);
  const ends = ['SIGTERM', 'SIGHUP'] as const;
  // Not `once`: ink ends the program by itself where it finds no other listener left.
  for (const name of ends) process.on(name, stop);
  try {
    // ink draws only its last picture where CI is set; whoever has a terminal before them wants to see all.
    delete process.env.CI;
    delete process.env.CONTINUOUS_INTEGRATION;
    // Before React is loaded for the first time: it has a slow half for developers.
    process.env.NODE_ENV ??= 'production';
    const { mount } = await import('./mount.tsx');
    stopPainting();
    screen.clear();
    // The size may have changed while ink was loaded.
    session.resize(sizeOf(terminal));
    const app = mount(terminal, session, looks);
    const onResize = () => {
      app.clear();
      screen.clear();
      session.resize(sizeOf(terminal));
    };
    terminal.stdout.on('resize', onResize);
    // Stopped and gone on with (`fg`): the shell has changed the terminal meanwhile.
    const onContinue = () => {
      screen.enterAgain();
      // Another size for a moment, since ink draws nothing twice.
      session.resize({ columns: 1, rows: 1 });
      setImmediate(onResize);
    };
    process.on('SIGCONT', onContinue);
    setImmediate(() => void warmUp(() => session.snapshot().state));
    void session.listen();
    const ending = await session.ended;
    terminal.stdout.off('resize', onResize);
    process.removeListener('SIGCONT', onContinue);
    app.unmount();
    return ending;
  } finally {
    clearInterval(alive);
    stopPainting();
    stopListening();
    screen.leave();
    signal.removeEventListener('abort', stop);
    for (const name of ends) process.removeListener(name, stop);
  }
}
