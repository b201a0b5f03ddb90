import { setImmediate as nextTurn, setTimeout as wait } from 'node:timers/promises';
import { KeyParser } from '../input.ts';

/** An Escape that nothing follows within this time was the Escape key; sequences may be torn apart on a network. */
const ESCAPE_MS = 30;

/** A terminal that has given nothing for this long holds nothing more. */
const QUIET_MS = 20;

/** Throws away what was typed before there was anything to see. */
export async function dropTypedAhead(stdin: NodeJS.ReadStream): Promise<void> {
  let heard = false;
  const ignore = () => {
    heard = true;
  };
  // Without this the terminal keeps a line until Enter.
  stdin.setRawMode(true);
  stdin.on('data', ignore);
  stdin.resume();
  do {
    heard = false;
    await wait(QUIET_MS);
    // On a busy machine the timer may be late and come before the terminal was read; it has been read by this.
    await nextTurn();
  } while (heard);
  stdin.pause();
  stdin.off('data', ignore);
}

/**
 * Listens to the keys of a terminal.
 * @param onGone  the terminal has gone
 * @returns stops listening
 */
export function listenToKeys(
  stdin: NodeJS.ReadStream,
  press: (key: string) => void,
  onGone: () => void,
): () => void {
  const parser = new KeyParser();
  let timer: NodeJS.Timeout | null = null;
  const onData = (data: Buffer | string) => {
    if (timer !== null) clearTimeout(timer);
    timer = null;
    for (const key of parser.push(data.toString())) press(key);
    if (parser.isWaiting) {
      timer = setTimeout(() => {
        for (const key of parser.flush()) press(key);
      }, ESCAPE_MS);
    }
  };
  stdin.setEncoding('utf8');
  stdin.on('data', onData);
  stdin.on('end', onGone);
  stdin.resume();
  return () => {
    if (timer !== null) clearTimeout(timer);
    stdin.off('data', onData);
    stdin.off('end', onGone);
    stdin.pause();
  };
}
