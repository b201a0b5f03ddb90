import type { AudioData, StreamDecoder } from 'audio-decode';

import type { Format } from '../formats/sniff.ts';
import { guardMemory } from './memory-guard.ts';

/** What the process is asked: one stream after another, each opened, fed piece by piece, ended or freed. */
export type DecoderRequest =
  | { readonly kind: 'open'; readonly decoder: Format['decoder'] }
  | { readonly kind: 'decode'; readonly bytes: Uint8Array }
  | { readonly kind: 'end' }
  | { readonly kind: 'free' };

/** What it answers to each, in order. */
export type DecoderAnswer =
  | { readonly kind: 'sound'; readonly channelData: readonly Float32Array[]; readonly sampleRate: number }
  | { readonly kind: 'failed'; readonly message: string };

let stream: StreamDecoder | null = null;

const nothing: AudioData = { channelData: [], sampleRate: 0 };

/** A decoder of audio-decode for one stream; its codec is loaded on first use. */
async function open(decoder: Format['decoder']): Promise<void> {
  const { default: decode } = await import('audio-decode');
  const opener = (decode as unknown as Record<string, (() => Promise<StreamDecoder>) | undefined>)[decoder];
  if (!opener) throw new RangeError(`audio-decode has no decoder named ${decoder}`);
  stream = await opener();
}

async function work(request: DecoderRequest): Promise<AudioData> {
  switch (request.kind) {
    case 'open':
      await open(request.decoder);
      return nothing;
    case 'decode':
      return (await stream?.(request.bytes)) ?? nothing;
    case 'end':
      return (await stream?.()) ?? nothing;
    case 'free':
      stream?.free();
      stream = null;
      return nothing;
  }
}

const [, , mostBytes] = process.argv;
const beginStep = guardMemory(Number(mostBytes));
// Ctrl-C reaches all processes of a terminal; the main process decides what to do.
process.on('SIGINT', () => {});
process.on('disconnect', () => process.exit());

let turn = Promise.resolve();
process.on('message', (request: DecoderRequest) => {
  turn = turn.then(async () => {
    beginStep();
    let answer: DecoderAnswer;
    try {
      answer = { kind: 'sound', ...(await work(request)) };
    } catch (error) {
      answer = {
        kind: 'failed',
        message: error instanceof Error ? error.message : String(error ?? 'unknown'),
      };
    }
    process.send?.(answer);
  });
});
