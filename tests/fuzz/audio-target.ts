import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { readRecording } from '../../src/audio/read.ts';
import { mutateBytes } from './mutate.ts';
import type { Target } from './targets.ts';

const FIXTURES = new URL('../fixtures/audio/', import.meta.url);
/** Boxes and chunks whose sizes and counts decoders go by. */
const NAMES =
  'moov trak mdia minf stbl stsd stts stsc stsz stco co64 elst mdhd hdlr tkhd mvhd moof traf trun tfhd trex mvex mdat fmt data COMM SSND desc fLaC OggS OpusHead ds64 free udta ftyp'.split(
    ' ',
  );

const folder = mkdtempSync(join(tmpdir(), 'reedtrace-fuzz-'));
process.on('exit', () => rmSync(folder, { recursive: true, force: true }));

/** Of all recordings that were read so far. */
export const soundRead = { sec: 0 };

/** Recordings of every format: changed anywhere, and by their structure, close behind the names of boxes and chunks. */
export const AUDIO: readonly Target[] = readdirSync(FIXTURES).map((name): Target => {
  const seed = new Uint8Array(readFileSync(new URL(name, FIXTURES)));
  const places = NAMES.flatMap((box) => placesOf(seed, box));
  const path = join(folder, 'input');
  return {
    kind: `audio ${name}`,
    extension: 'bin',
    input: (chance) => {
      if (places.length === 0 || chance.happens(0.4)) return mutateBytes(seed, [seed], chance);
      const bytes = Buffer.from(seed);
      for (let n = 1 + chance.below(3); n > 0; n--) {
        const at = Math.min(bytes.length - 4, chance.pick(places) - 4 + 4 * chance.below(8));
        bytes.writeUInt32BE(
          chance.pick([0, 1, 2, 8, 0xffff, 0x7fffffff, 0xffffffff, chance.below(2 ** 32)]),
          Math.max(0, at),
        );
      }
      return bytes;
    },
    run: async (input) => {
      writeFileSync(path, input);
      const { source, samples } = await readRecording(path);
      soundRead.sec += source.durationSec;
      if (!(source.durationSec > 0 && samples.length > 0)) throw new Error('a recording of no length');
    },
  };
});

function placesOf(bytes: Uint8Array, name: string): number[] {
  const buffer = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.length);
  const places: number[] = [];
  for (let at = buffer.indexOf(name, 0, 'latin1'); at >= 0; at = buffer.indexOf(name, at + 1, 'latin1'))
    places.push(at);
  return places.slice(0, 50);
}
