import { type Instance, render } from 'ink';
import { App, type Source } from './App.tsx';
import type { Looks } from './line.ts';
import type { Terminal } from './terminal.ts';

/** Puts the screen on a terminal. */
export function mount(terminal: Terminal, source: Source, looks: Looks): Instance {
  return render(<App source={source} looks={looks} />, {
    ...terminal,
    exitOnCtrlC: false,
    patchConsole: false,
    maxFps: 60,
  });
}
