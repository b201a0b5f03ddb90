import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { beforeAll, describe, expect, it } from 'vitest';
import { seededRng } from '../samples/synth/rng.ts';
import { babble } from '../samples/synth/scene/company.ts';
import { whiteNoise } from '../samples/synth/scene/degrade.ts';
import { readRecording } from '../src/audio/read.ts';
import { Samples } from '../src/audio/samples.ts';
import { EXIT, type ReedtraceError } from '../src/errors.ts';
import { STAGES, type TranscribeOptions, type Transcription, transcribe } from '../src/pipeline.ts';
import { PLAIN, played, RATE } from './analysis/listen.ts';
import { REED_SPECTRA, tone } from './analysis/tones.ts';
import { scoreOf, tallyNotes, tallyTab } from './bench/scores/metrics.ts';
import { type LabelledTake, loadTakes } from './bench/sets/takes.ts';

const SAMPLES = fileURLToPath(new URL('../samples/', import.meta.url));

const failure = async (samples: Samples, options: TranscribeOptions = {}): Promise<ReedtraceError> =>
  transcribe(samples, options).then(
    () => {
      throw new Error('it did not fail');
    },
    (error: ReedtraceError) => error,
  );

describe.each([
  // Measured 1 for notes and tab on both; what is asked leaves room for a note or two.
  ['old-joe-clark', 0.95, 0.94],
  ['bending-exercise', 0.93, 0.93],
])('%s, with nothing given about the harp', (name, leastNoteF1, leastTabF1) => {
  let take: LabelledTake;
  let heard: Transcription;
  beforeAll(async () => {
    take = loadTakes(SAMPLES).find(({ path }) => path.endsWith(`${name}.wav`))!;
    const { samples } = await readRecording(take.path);
    heard = await transcribe(samples);
  });

  it('finds the harp', () => {
    const { key, tuning, a4Hz, confidence, alternatives } = heard.harp;
    expect({ key, tuning }).toEqual({ key: take.harp.key, tuning: take.harp.tuning });
    expect(Math.abs(a4Hz - take.harp.a4Hz)).toBeLessThan(1);
    expect(confidence).toBeGreaterThan(0.8);
    expect(alternatives.length).toBeGreaterThan(0);
  });

  it('finds the notes (mir_eval 0.8.2 definitions: onset 50 ms, pitch 50 cents, end 20 %)', () => {
    expect(scoreOf(tallyNotes(take.notes, heard.notes, { offsetRatio: null })).f1).toBeGreaterThan(
      leastNoteF1,
    );
    expect(scoreOf(tallyNotes(take.notes, heard.notes)).f1).toBeGreaterThan(0.85);
  });

  it('finds hole, breath and bend', () => {
    expect(scoreOf(tallyTab(take.notes, heard.notes)).f1).toBeGreaterThan(leastTabF1);
  });

  it('returns notes in order with unique ids and phrases that contain them all, and survives JSON', () => {
    expect(new Set(heard.notes.map(({ id }) => id)).size).toBe(heard.notes.length);
    for (let i = 1; i < heard.notes.length; i++) {
      expect(heard.notes[i].onsetSec).toBeGreaterThanOrEqual(heard.notes[i - 1].offsetSec);
    }
    for (const { confidence, alternatives } of heard.notes) {
      const sum = alternatives.reduce((total, other) => total + other.confidence, confidence);
      expect(sum).toBeLessThanOrEqual(1 + 1e-9);
    }
    expect(heard.phrases[0].firstNote).toBe(0);
    expect(heard.phrases.at(-1)!.lastNote).toBe(heard.notes.length - 1);
    // NaN and Infinity would come back as null.
    expect(JSON.parse(JSON.stringify(heard))).toEqual(heard);
  });
});

describe('a detected harp', () => {
  it('gives the same notes as when it is named', async () => {
    const { samples } = await readRecording(join(SAMPLES, 'homework-kitchen.wav'));
    const found = await transcribe(samples);
    const named = await transcribe(samples, { harp: found.harp.key, tuning: found.harp.tuning });
    expect(named.notes).toEqual(found.notes);
    expect(named.leftOut).toEqual(found.leftOut);
    expect(named.harp.a4Hz).toBe(found.harp.a4Hz);
  });
});

describe('talk between the phrases, the harp given', () => {
  it('is not heard as notes', async () => {
    const take = loadTakes(SAMPLES).find(({ path }) => path.endsWith('homework-with-talk.wav'))!;
    const { samples } = await readRecording(take.path);
    const { notes, harp } = await transcribe(samples, { harp: take.harp.key });
    expect(scoreOf(tallyTab(take.notes, notes)).f1).toBeGreaterThan(0.9);
    expect(harp).toMatchObject({ key: 'G', tuning: 'richter', confidence: 1 });
    const inTalk = notes.filter(({ onsetSec, offsetSec }) =>
      take.talkSec.some(([from, to]) => onsetSec > from && offsetSec < to),
    );
    expect(inTalk).toEqual([]);
  });
});

const short = (): Samples => Samples.from(played('4 -4 5 -5 6 -6 6', PLAIN).samples, RATE);

describe('what the player said about the harp', () => {
  it('is kept, with the usual name of its key', async () => {
    const { harp } = await transcribe(short(), { harp: 'c', a4Hz: 442, temperament: 'just-7-limit' });
    expect(harp).toMatchObject({ key: 'C', a4Hz: 442, temperament: 'just-7-limit', confidence: 1 });
    expect(harp.alternatives).toEqual([]);
    expect((await transcribe(short(), { harp: 'bb' })).harp.key).toBe('Bb');
    expect((await transcribe(short(), { harp: 'LF' })).harp.key).toBe('low F');
  });

  it('is refused if there is no such harp or tuning', async () => {
    expect((await failure(short(), { harp: 'H' })).code).toBe('E_HARP');
    expect((await failure(short(), { harp: 'C', tuning: 'none' })).code).toBe('E_TUNING');
    expect((await failure(short(), { harp: 'C', temperament: 'none' })).code).toBe('E_TUNING');
    expect((await failure(short(), { harp: 'C', a4Hz: 300 })).code).toBe('E_HARP');
  });
});

describe('nothing played', () => {
  it.each([
    ['silence', new Float32Array(2 * RATE), 'silence'],
    ['no samples', new Float32Array(0), 'silence'],
    ['one sample', Float32Array.of(0.5), 'noise'],
    ['20 ms of a tone', tone(440, REED_SPECTRA.falling, 0.02, RATE), 'noise'],
    ['noise', whiteNoise(3 * RATE, seededRng(1)).map((v) => v * 0.2), 'noise'],
    ['talk', babble(6, RATE, seededRng(4)), 'speech'],
  ])('%s: E_NOTHING_PLAYED says what there is instead', async (_, data, word) => {
    const error = await failure(Samples.from(data, RATE));
    expect(error.code).toBe('E_NOTHING_PLAYED');
    expect(error.exitCode).toBe(EXIT.nothingPlayed);
    expect(error.message).toContain(`holds ${word}`);
    expect(error.fix).not.toBe('');
  });

  it('is not reported if there is one clear note', async () => {
    const data = new Float32Array(RATE);
    data.set(tone(523.25, REED_SPECTRA.falling, 0.6, RATE), RATE / 5);
    const { notes } = await transcribe(Samples.from(data, RATE), { harp: 'C' });
    expect(notes.map(({ hole, breath }) => `${hole} ${breath}`)).toEqual(['4 blow']);
  });
});

describe('as a function', () => {
  it('returns the same each time', async () => {
    expect(await transcribe(short())).toEqual(await transcribe(short()));
  });

  it('reports its stages in order, with growing shares', async () => {
    const seen: [string, number][] = [];
    await transcribe(short(), { harp: 'C', onProgress: (stage, fraction) => seen.push([stage, fraction]) });
    expect([...new Set(seen.map(([stage]) => stage))]).toEqual([...STAGES]);
    for (let i = 0; i < seen.length; i++) {
      expect(seen[i][1]).toBeGreaterThanOrEqual(0);
      expect(seen[i][1]).toBeLessThanOrEqual(1);
      if (i > 0 && seen[i][0] === seen[i - 1][0]) expect(seen[i][1]).toBeGreaterThanOrEqual(seen[i - 1][1]);
    }
  });

  it.each(STAGES)("stops while '%s' when told to", async (at) => {
    const controller = new AbortController();
    const stages = new Set<string>();
    const error = await failure(short(), {
      signal: controller.signal,
      onProgress: (stage) => {
        stages.add(stage);
        if (stage === at) controller.abort();
      },
    });
    expect(error.code).toBe('E_INTERRUPTED');
    expect(error.exitCode).toBe(EXIT.interrupted);
    expect([...stages].at(-1)).toBe(at);
  });

  it('does not begin if stopped beforehand', async () => {
    expect((await failure(short(), { signal: AbortSignal.abort() })).code).toBe('E_INTERRUPTED');
  });
});
