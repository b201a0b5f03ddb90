import { KeyParser } from './input.ts';

/** An Escape that nothing follows within this time was the Escape key; sequences may be torn apart on a network. */
const ESCAPE_MS = 30;

/**
 * Listens to the keys of a terminal.
 * @returns stops listening
 */
export function listenToKeys(stdin: NodeJS.ReadStream, press: (key: string) => void): () => void {
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
  stdin.resume();
  return () => {
    if (timer !== null) clearTimeout(timer);
    stdin.off('data', onData);
    stdin.pause();
  };
}
