import { parentPort } from 'node:worker_threads';
import type { AudioData, StreamDecoder } from 'audio-decode';
import type { Format } from '../formats/sniff.ts';

/** What the thread is asked: one stream after another, each opened, fed piece by piece, ended or freed. */
export type DecoderRequest =
  | { readonly kind: 'open'; readonly decoder: Format['decoder'] }
  | { readonly kind: 'decode'; readonly bytes: Uint8Array }
  | { readonly kind: 'end' }
  | { readonly kind: 'free' };

/** What it answers to each, in order. */
export type DecoderAnswer =
  | { readonly kind: 'sound'; readonly channelData: readonly Float32Array[]; readonly sampleRate: number }
  | { readonly kind: 'failed'; readonly message: string };

/** What the library prints about bad data is silenced: damage is reported in our own words. */
for (const name of ['log', 'info', 'warn', 'error'] as const) globalThis.console[name] = () => {};

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

/** Planes that are parts of other memory, such as that of a codec, are copied; others go as they are. */
function owned(plane: Float32Array): Float32Array {
  return plane.byteLength === plane.buffer.byteLength ? plane : plane.slice();
}

let turn = Promise.resolve();
parentPort?.on('message', (request: DecoderRequest) => {
  turn = turn.then(async () => {
    try {
      const { channelData, sampleRate } = await work(request);
      const planes = channelData.map(owned);
      const answer: DecoderAnswer = { kind: 'sound', channelData: planes, sampleRate };
      parentPort?.postMessage(answer, [...new Set(planes.map(({ buffer }) => buffer as ArrayBuffer))]);
    } catch (error) {
      const message = error instanceof Error ? error.message : String(error ?? 'unknown');
      parentPort?.postMessage({ kind: 'failed', message } satisfies DecoderAnswer);
    }
  });
});
