import type { AudioData, StreamDecoder } from 'audio-decode';
import type { Format } from './sniff.ts';

/**
 * A decoder of audio-decode for one stream; its codec is loaded on first use (2 to 30 ms).
 * What the library prints about bad data is silenced: damage is reported in our own words.
 */
export async function openDecoder(decoder: Format['decoder']): Promise<StreamDecoder> {
  const { default: decode } = await import('audio-decode');
  const open = (decode as unknown as Record<string, (() => Promise<StreamDecoder>) | undefined>)[decoder];
  if (!open) throw new RangeError(`audio-decode has no decoder named ${decoder}`);
  const stream = await quietly(() => open());
  const call = (chunk?: Uint8Array): Promise<AudioData> => quietly(() => stream(chunk));
  return Object.assign(call, { flush: () => quietly(() => stream.flush()), free: () => stream.free() });
}

type Printer = (...words: unknown[]) => void;
const PRINTERS = ['log', 'info', 'warn', 'error'] as const;
const terminal = globalThis.console;
let silent = 0;
let printers: Printer[] = [];

/** Keeps the console still while the library works; calls may overlap when several files are read at once. */
async function quietly<T>(work: () => Promise<T>): Promise<T> {
  if (silent++ === 0) {
    printers = PRINTERS.map((name) => terminal[name]);
    for (const name of PRINTERS) terminal[name] = () => {};
  }
  try {
    return await work();
  } finally {
    if (--silent === 0) {
      PRINTERS.forEach((name, i) => {
        terminal[name] = printers[i];
      });
    }
  }
}
