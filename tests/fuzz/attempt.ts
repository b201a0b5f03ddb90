import { ReedtraceError } from '../../src/errors.ts';
import type { Target } from './targets.ts';

/** The result of one input: read, refused with a message, or an internal error. */
export type Outcome = { readonly ms: number } & (
  | { readonly kind: 'read' }
  | { readonly kind: 'refused'; readonly message: string }
  | { readonly kind: 'fault'; readonly what: string }
);

/** An input of a few kilobytes that takes this long would take hours when it is large. */
const TOO_LONG_MS = 5_000;
const LONGEST_MESSAGE = 4_000;

/** Gives an input to a reader. Unexpected errors, and taking too long, are faults. */
export async function tryInput(
  { run }: Pick<Target, 'run'>,
  input: Uint8Array,
  thoroughly: boolean,
): Promise<Outcome> {
  const begun = performance.now();
  const cpu = process.cpuUsage();
  // By processor time: the machine may be busy with other things.
  const ended = (): { ms: number; cpuMs: number } => {
    const { user } = process.cpuUsage(cpu);
    return { ms: performance.now() - begun, cpuMs: user / 1000 };
  };
  try {
    await run(input, thoroughly);
  } catch (error) {
    const { ms } = ended();
    if (!(error instanceof ReedtraceError)) {
      const stack = error instanceof Error ? (error.stack ?? error.message) : String(error);
      return { kind: 'fault', ms, what: stack.split('\n').slice(0, 4).join('\n') };
    }
    return error.message.length > LONGEST_MESSAGE
      ? { kind: 'fault', ms, what: `a message of ${error.message.length} characters` }
      : { kind: 'refused', ms, message: error.message };
  }
  const { ms, cpuMs } = ended();
  return cpuMs > TOO_LONG_MS
    ? { kind: 'fault', ms, what: `took ${Math.round(cpuMs)} ms` }
    : { kind: 'read', ms };
}
