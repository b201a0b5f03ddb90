import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';

let collect: (() => void) | undefined;

/**
 * Frees what nothing refers to any more, as soon as what is being done now has let go of it: V8 itself waits, as it does not
 * count memory that threads share. Takes some 20 ms.
 */
export async function freeMemory(): Promise<void> {
  if (collect === undefined) {
    setFlagsFromString('--expose-gc');
    collect = runInNewContext('gc') as () => void;
  }
  await new Promise<void>((resolve) => setImmediate(resolve));
  collect();
}
