import { setImmediate as nextTurn, setTimeout as wait } from 'node:timers/promises';
import { KeyParser } from '../input.ts';

/** An Escape that is followed by nothing within this time was the Escape key; a network may split sequences. */
const ESCAPE_MS = 30;

/** A terminal that has sent nothing for this long has nothing left to send. */
const QUIET_MS = 20;

/** Discards what was typed before anything was shown. */
export async function dropTypedAhead(stdin: NodeJS.ReadStream): Promise<void> {
  let heard = false;
  const ignore = () => {
    heard = true;
  };
  // Without this, the terminal holds back each line until Enter.
  stdin.setRawMode(true);
  stdin.on('data', ignore);
  stdin.resume();
  do {
    heard = false;
    await wait(QUIET_MS);
    // On a busy computer the timer may fire before the terminal was read; after this it has been.
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
