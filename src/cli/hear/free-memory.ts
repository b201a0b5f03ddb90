import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';

let collect: (() => void) | undefined;

/**
 * Frees unreferenced memory once the current work has let go of it. V8 itself would wait, as it does not count memory
 * that threads share. Takes some 20 ms.
 */
export async function freeMemory(): Promise<void> {
  if (collect === undefined) {
    setFlagsFromString('--expose-gc');
    collect = runInNewContext('gc') as () => void;
  }
  await new Promise<void>((resolve) => setImmediate(resolve));
  collect();
}
