import { setFlagsFromString } from 'node:v8';

/**
 * V8 inlines functions of up to 460 bytes of bytecode. In a program that runs for seconds this costs a tenth of its
 * processor time, spent compiling the same code over and over, and makes nothing faster.
 */
const LARGEST_INLINED_BYTES = 100;
/** Versions of V8 (Node 20, 22 and 24) that know the setting; others may complain on the terminal. */
const KNOWN_VERSIONS: ReadonlySet<string> = new Set(['11', '12', '13']);

/** Sets V8 up for short runs; call it before the work begins. */
export function compileSparingly(): void {
  if (!KNOWN_VERSIONS.has(process.versions.v8.split('.')[0])) return;
  setFlagsFromString(`--max-inlined-bytecode-size=${LARGEST_INLINED_BYTES}`);
}
