import { setFlagsFromString } from 'node:v8';

/**
 * V8 inlines functions of up to 460 bytes of bytecode. In a program that runs for seconds this costs a tenth of its
 * processor time, spent compiling the same code over and over, and makes nothing faster.
 */
const LARGEST_INLINED_BYTES = 100;
/**
 * The same for all that is inlined into one function, 920 bytes by default: at 200, compiling takes a tenth to a sixth less in
 * Node 20, and as long as before in Node 22 and 24. [measured]
 */
const INLINED_BYTES_IN_ALL = 200;
/**
 * How much of a function has to run, in bytes of bytecode, before V8 considers compiling it; 67,584 by default. Most loops that
 * run for long are in the kernel, so compiling less of the rest later takes a tenth less for a take of 20 s and a fiftieth less for
 * ten minutes. Node 22 and 24 count calls instead. [measured]
 */
const INTERRUPT_BUDGET = 300_000;
const VERSION_WITH_BUDGET = '11';
/** Versions of V8 (Node 20, 22 and 24) that know the settings; others may complain on the terminal. */
const KNOWN_VERSIONS: ReadonlySet<string> = new Set(['11', '12', '13']);

/** Sets V8 up for short runs; call it before the work begins. */
export function compileSparingly(): void {
  const version = process.versions.v8.split('.')[0];
  if (!KNOWN_VERSIONS.has(version)) return;
  setFlagsFromString(`--max-inlined-bytecode-size=${LARGEST_INLINED_BYTES}`);
  setFlagsFromString(`--max-inlined-bytecode-size-cumulative=${INLINED_BYTES_IN_ALL}`);
  if (version === VERSION_WITH_BUDGET) setFlagsFromString(`--interrupt-budget=${INTERRUPT_BUDGET}`);
}
