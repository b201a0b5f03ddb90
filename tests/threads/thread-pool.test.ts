import { fileURLToPath } from 'node:url';
import { beforeAll, describe, expect, it, vi } from 'vitest';
import type { Samples } from '../../src/audio/samples.ts';
import type { ParallelStage } from '../../src/parallel-stage.ts';
import type { Transcription } from '../../src/pipeline.ts';
import { noPause } from '../analysis/tones.ts';

/** The built modules, as threads can't be started from TypeScript. */
const built = async <Module>(path: string): Promise<Module> =>
  import(new URL(`../../dist/${path}.js`, import.meta.url).href);
const { ThreadPool } = await built<typeof import('../../src/threads/thread-pool.ts')>('threads/thread-pool');
const { transcribe } = await built<typeof import('../../src/pipeline.ts')>('pipeline');
const { readRecording } = await built<typeof import('../../src/audio/read.ts')>('audio/read');

const TAKE = fileURLToPath(new URL('../../samples/homework-kitchen.wav', import.meta.url));
const SQUARES = Array.from({ length: 80 }, (_, i) => i ** 2);

let samples: Samples;
let alone: Transcription;
beforeAll(async () => {
  ({ samples } = await readRecording(TAKE));
  alone = await transcribe(samples);
});

/** Squares under the name of a parallel stage that other threads know as something else, in chunks of the same size. */
const squares = (name: string): ParallelStage<unknown, number[]> => ({
  name,
  chunkSize: 20,
  begin: () => (from, to) => SQUARES.slice(from, to),
});

describe('several threads on one take', () => {
  it.each([2, 3])('find exactly the same as one (%d)', async (threads) => {
    const pool = new ThreadPool(threads - 1);
    try {
      expect(await transcribe(samples, { pool })).toStrictEqual(alone);
      // By now the others have surely begun.
      expect(await transcribe(samples, { pool })).toStrictEqual(alone);
      expect(pool.helpers).toBe(threads - 1);
    } finally {
      await pool.close();
    }
  });

  it('leave the chunks of threads that die to this one', async () => {
    const pool = new ThreadPool(2);
    // They take chunks and break on what they were given, before the first is done here.
    const given = { events: SQUARES.map(() => null), readings: [], notes: [] };
    const untilDead = () => vi.waitFor(() => expect(pool.helpers).toBe(0), 10_000);
    const work = async (name: string, pause: () => Promise<void>): Promise<number[]> =>
      (await pool.run(squares(name), samples, given, SQUARES.length, pause)).flat();
    expect(await work('measure note sounds', untilDead)).toEqual(SQUARES);
    expect(await work('squares', noPause)).toEqual(SQUARES);
  });

  it('report progress from 0 up, never falling', async () => {
    const pool = new ThreadPool(1);
    const told = new Map<string, number[]>();
    await transcribe(samples, {
      pool,
      onProgress: (stage, fraction) => told.set(stage, [...(told.get(stage) ?? []), fraction]),
    });
    await pool.close();
    for (const fractions of told.values()) {
      expect(fractions[0]).toBe(0);
      expect(fractions).toEqual(fractions.toSorted((a, b) => a - b));
    }
  });

  it('end with their work at Ctrl-C', async () => {
    const controller = new AbortController();
    const pool = new ThreadPool(1, controller.signal);
    const stopped = transcribe(samples, {
      pool,
      signal: controller.signal,
      onProgress: (stage) => {
        if (stage === 'measuring') controller.abort();
      },
    });
    await expect(stopped).rejects.toMatchObject({ code: 'E_INTERRUPTED' });
    await pool.close();
    expect(pool.helpers).toBe(0);
  });

  it('report an internal error as one thread does', async () => {
    const pool = new ThreadPool(1);
    const broken: ParallelStage<unknown, never> = {
      name: 'unknown',
      chunkSize: 1,
      begin: () => () => {
        throw new Error('broken');
      },
    };
    await expect(pool.run(broken, samples, null, 3, noPause)).rejects.toThrow('broken');
    await pool.close();
  });
});
