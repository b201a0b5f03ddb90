import { listenToKeys } from './keyboard.ts';
import { printLines } from './line.ts';
import type { Ending, Session } from './session.ts';
import { FullScreen, hasUnicode, type Terminal } from './terminal.ts';
import { type Size, screenLines } from './view/screen.ts';

/** Size of a terminal; the usual one when it doesn't tell. */
export function sizeOf({ stdout }: Terminal): Size {
  return { columns: stdout.columns || 80, rows: stdout.rows || 24 };
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
    const { state, contours, size } = session.snapshot();
    return printLines(screenLines(state, contours, size), looks);
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
    setImmediate(() => void session.warmUp());
    void session.listen();
    const ending = await session.ended;
    terminal.stdout.off('resize', onResize);
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
