import { setFlagsFromString } from 'node:v8';

/**
 * V8 lays called functions of up to 460 bytes of bytecode into their callers. In a program that is done in seconds
 * that costs a tenth of all its processor time, in compiling the same over and over, and makes nothing run faster.
 */
const LARGEST_INLINED_BYTES = 100;
/** Of V8 (Node 20, 22 and 24): others may not know the setting, and say so on the terminal. */
const KNOWN_VERSIONS: ReadonlySet<string> = new Set(['11', '12', '13']);

/** Sets the engine up for short runs; to be called before the work begins. */
export function compileSparingly(): void {
  if (!KNOWN_VERSIONS.has(process.versions.v8.split('.')[0])) return;
  setFlagsFromString(`--max-inlined-bytecode-size=${LARGEST_INLINED_BYTES}`);
}
