import { chordGain, framesOfChords } from './analysis/notes/decoding/chord-gain.ts';
import { segment } from './analysis/notes/decoding/segment.ts';
import type { SoundEvent } from './analysis/notes/events.ts';
import { findEvents } from './analysis/notes/find-events.ts';
import { MEASURE_EVENTS } from './analysis/notes/measure-events.ts';
import { anyGlide, chromaticPitches, harpGlides, harpPitches, reedSets } from './analysis/notes/pitches.ts';
import { joinFalls } from './analysis/ornaments/join-falls.ts';
import { analyseFrames, type Frames } from './analysis/pitch/frames.ts';
import { claimFeatures, claimProbabilities, joinPieces } from './analysis/playing/claim.ts';
import { joinFragments } from './analysis/playing/fragments.ts';
import { type LeftOut, type SortedSounds, sortPlayed } from './analysis/playing/left-out.ts';
import { refusedSounds } from './analysis/playing/refused.ts';
import type { Samples } from './audio/samples.ts';
import { ReedtraceError } from './errors.ts';
import { parseHarpKey } from './harp/keys.ts';
import { findPlayable, ownParts, playableNotes } from './harp/playable.ts';
import { temperamentById } from './harp/temperaments.ts';
import type { CustomHarp, FoundHarp, HarpGuess, HarpSpec, PlayableNote } from './harp/types.ts';
import { buildNotes } from './holes/build-notes.ts';
import { findHarp } from './holes/find-harp.ts';
import { a4OfFewNotes, fitTuning, type TuningFit, tuningRemarks } from './holes/fit-tuning.ts';
import { type HoleReading, readHoles } from './holes/holes.ts';
import { heardAt } from './measure/leak/louder-reed.ts';
import { measureNotes, type NoteMeasures } from './measure/notes.ts';
import { findPhrases, type Phrase } from './music/phrases.ts';
import { SEQUENTIAL, type WorkerPool } from './parallel-stage.ts';
import type { Note } from './tab/note.ts';
import { A4_MIDI, hzToMidi, ISO_A4_HZ, midiToHz } from './units.ts';

/** What is known of the harp beforehand, and how to report and stop. */
export interface TranscribeOptions {
  /** Key as `parseHarpKey` reads it; detected from the notes if omitted. */
  readonly harp?: string;
  readonly tuning?: string;
  readonly temperament?: string;
  readonly a4Hz?: number;
  /** Makes a doubtful note of whatever was heard. */
  readonly keepAll?: boolean;
  /** A custom layout or temperament. */
  readonly custom?: CustomHarp | undefined;
  readonly signal?: AbortSignal;
  readonly onProgress?: (stage: string, fraction: number) => void;
  /** Shares the work among threads; this thread does all of it if omitted. */
  readonly pool?: WorkerPool | undefined;
}

/** The result: what was played, and on which harp. */
export interface Transcription {
  readonly harp: FoundHarp;
  readonly notes: Note[];
  /** Sounds that were left out, in order of time. */
  readonly leftOut: LeftOut[];
  readonly phrases: Phrase[];
  /** Plain sentences for the player about the take as a whole. */
  readonly remarks: string[];
}

/** Names of the stages that `onProgress` reports, in order. */
export const STAGES = ['hearing pitches', 'finding notes', 'finding holes', 'measuring'] as const;
type Stage = (typeof STAGES)[number];

/**
 * Transcribes samples: from sound to notes with holes, all stages in order.
 * @throws ReedtraceError E_NOTHING_PLAYED, E_HARP, E_TUNING, E_INTERRUPTED
 */
export async function transcribe(samples: Samples, options: TranscribeOptions = {}): Promise<Transcription> {
  const pause = pacemaker(options);
  const { pool } = options;
  const { events: kept, evidence, leftOut, harps, a4Hz } = await hearPlaying(samples, options);
  const [guess, ...others] = harps;
  await pause('finding holes', 0);
  const { harp, fit, readings: first } = readOnHarp(kept, guess, a4Hz, options);
  const playable = playableNotes(harp);
  const measure: Measure = (events, readings) =>
    measureNotes(samples, events, readings, playable, (fraction) => pause('measuring', fraction), pool);
  const { events, readings, measured } = await measureLoudest(kept, first, playable, measure);
  const notes = buildNotes(events, readings, claimProbabilities(evidence), measured);
  return {
    harp: { ...harp, confidence: guess.confidence, alternatives: others.slice(0, RUNNERS_UP).map(nameOf) },
    notes,
    leftOut,
    phrases: findPhrases(notes),
    remarks: tuningRemarks(fit, harp.a4Hz, options),
  };
}

/** What was heard, before it is read as holes. */
export interface Heard extends SortedSounds {
  /** Evidence that each event is one whole note (see `claimFeatures`). */
  readonly evidence: readonly (readonly number[])[];
  /** The harps that it may be, likeliest first; only one if it was named. */
  readonly harps: readonly HarpGuess[];
  /** The tuning of the take, before it is fitted to the notes of the harp. */
  readonly a4Hz: number;
}

/**
 * The first half of the stages: from samples to the events that were played. A harp that is not named is detected
 * first, from what any harp could sound; then the notes and chords of the harp are heard.
 * @throws ReedtraceError E_NOTHING_PLAYED, E_HARP, E_TUNING, E_INTERRUPTED
 */
export async function hearPlaying(samples: Samples, options: TranscribeOptions = {}): Promise<Heard> {
  const pause = pacemaker(options);
  const { harp: key, keepAll = false, custom, pool = SEQUENTIAL } = options;
  const frames = await analyseFrames(samples, (fraction) => pause('hearing pitches', fraction), pool);
  await pause('finding notes', 0);
  const a4Hz = options.a4Hz ?? heardA4(frames);
  // If the harp has to be detected, the recording is heard twice, and each time is half of the work.
  const [found, rest] = key === undefined ? [0.5, 0.5] : [0, 1];
  const harps =
    key === undefined
      ? (await hearAnyHarp(samples, frames, options, (fraction) => pause('finding notes', found * fraction)))
          .harps
      : [namedHarp(key, options)];
  if (harps.length === 0) throw nothingPlayed([], samples);
  const notes = playableNotes(harpOf(harps[0], a4Hz, options), custom);
  const sets = reedSets(notes);
  const segments = segment(frames, harpPitches(notes), sets);
  const progress = (fraction: number): Promise<void> => pause('finding notes', found + rest * fraction);
  const events = await findEvents(samples, frames, segments, harpGlides(notes), sets, progress, pool);
  const heard = joinFragments(sets.length === 0 ? events : joinFalls(events));
  const stretches = refusedSounds(frames, [...heard.whole, ...heard.doubtful]);
  const refused = await pool.run(MEASURE_EVENTS, samples, { frames, stretches }, stretches.length, () =>
    pause('finding notes', 1),
  );
  const midis = notes.map(({ f0Hz }) => hzToMidi(f0Hz));
  const sorted = sortPlayed(heard, refused.flat(), midis, keepAll);
  if (sorted.events.length === 0) throw nothingPlayed(sorted.leftOut, samples);
  const features = claimFeatures(frames, sorted.events);
  const sounds = joinPieces(sorted, claimProbabilities(features));
  const isAsBefore = sounds.events.length === sorted.events.length;
  const evidence = isAsBefore ? features : claimFeatures(frames, sounds.events);
  return { ...sounds, evidence, harps, a4Hz };
}

/** What was heard without knowing the harp, and the harps that would explain it, likeliest first. */
export interface HeardOnAnyHarp {
  readonly sounds: readonly SoundEvent[];
  readonly harps: readonly HarpGuess[];
}

/**
 * Hears what any harp could sound. The harp is detected from that, and the correction screen compares it with what is
 * written.
 * @param onProgress  called with the fraction that is done, and awaited
 */
export async function hearAnyHarp(
  samples: Samples,
  frames: Frames,
  { tuning, custom, temperament = 'equal', a4Hz, pool = SEQUENTIAL }: TranscribeOptions,
  onProgress: (fraction: number) => Promise<void>,
): Promise<HeardOnAnyHarp> {
  const segments = segment(frames, chromaticPitches(frames.evidence.offset));
  const events = await findEvents(samples, frames, segments, anyGlide, [], onProgress, pool);
  const heard = joinFragments(events);
  const { events: sounds } = sortPlayed(heard);
  // If nothing was surely played, the harp is detected from everything that was heard.
  const from = sounds.length > 0 ? sounds : heard.whole;
  const chords = framesOfChords(frames);
  const tuned = a4Hz ?? heardA4(frames);
  const harps = findHarp(from, { tuning, custom, temperament, a4Hz }, (harp) =>
    chordGain(chords, playableNotes({ ...harp, a4Hz: tuned }, custom)),
  );
  return { sounds, harps };
}

/** The A4 from which the pitches that were heard deviate least. */
const heardA4 = ({ evidence }: Frames): number => midiToHz(A4_MIDI + evidence.offset, ISO_A4_HZ);

/** Runners-up that a take keeps. */
const RUNNERS_UP = 4;

/** Lets other work (Ctrl-C, progress) happen between steps. */
function pacemaker({
  signal,
  onProgress,
}: TranscribeOptions): (stage: Stage, fraction: number) => Promise<void> {
  return async (stage, fraction) => {
    onProgress?.(stage, fraction);
    await new Promise<void>((resolve) => setImmediate(resolve));
    if (signal?.aborted) {
      throw new ReedtraceError('E_INTERRUPTED', 'stopped', 'run the command again to start over');
    }
  };
}

/** The harp that the player named. */
function namedHarp(key: string, { tuning, custom }: TranscribeOptions): HarpGuess {
  const id = custom?.layout?.id ?? tuning ?? 'richter';
  return { key: parseHarpKey(key).key, tuning: id, confidence: 1 };
}

/** A harp before its tuning is fitted. */
function harpOf(
  { key, tuning }: HarpGuess,
  a4Hz: number,
  { temperament, custom }: TranscribeOptions,
): HarpSpec {
  return { key, tuning, temperament: custom?.temperament?.id ?? temperament ?? 'equal', a4Hz };
}

const nameOf = ({ key, tuning, confidence }: HarpGuess): HarpGuess => ({ key, tuning, confidence });

/** The error E_NOTHING_PLAYED, saying what the recording holds instead. */
function nothingPlayed(leftOut: readonly LeftOut[], samples: Samples): ReedtraceError {
  const holds = isSilent(samples)
    ? 'silence'
    : leftOut.length >= 3
      ? 'speech or other voiced sound'
      : 'noise';
  const shown = leftOut.length > 0 ? '; `--keep-all` shows what was heard as doubtful notes' : '';
  return new ReedtraceError(
    'E_NOTHING_PLAYED',
    `no playing found: the recording holds ${holds}`,
    `check that this is the right file and that the microphone was close${shown}`,
  );
}

/** Samples below this (full scale 1) are silence. */
const SILENCE_PEAK = 0.001;

function isSilent(samples: Samples): boolean {
  const block = new Float32Array(Math.round(samples.sampleRate));
  for (let start = 0; start < samples.length; start += block.length) {
    samples.read(start, block);
    for (const value of block) if (Math.abs(value) > SILENCE_PEAK) return false;
  }
  return true;
}

/** Reads holes on the harp as it is tuned: once to fit the tuning to the natural notes, then again with that tuning. */
function readOnHarp(
  events: readonly SoundEvent[],
  { key, tuning }: HarpGuess,
  a4Hz: number,
  options: TranscribeOptions,
): { harp: HarpSpec; fit: TuningFit | null; readings: HoleReading[][] } {
  const { custom } = options;
  const temperament = custom?.temperament?.id ?? options.temperament ?? 'equal';
  const own = ownParts({ tuning, temperament }, custom);
  const spec: HarpSpec = { key, tuning, temperament, a4Hz, ...(own ? { custom: own } : {}) };
  const first = readEvents(events, playableNotes(spec));
  const fit = fitTuning(events, first, spec.key, {
    a4Hz: options.a4Hz,
    temperament:
      custom?.temperament ??
      (options.temperament === undefined ? undefined : temperamentById(options.temperament)),
  });
  const a4 = options.a4Hz ?? a4OfFewNotes(events, first);
  const harp =
    fit === null ? { ...spec, a4Hz: a4 } : { ...spec, a4Hz: fit.a4Hz, temperament: fit.temperament };
  return { harp, fit, readings: readEvents(events, playableNotes(harp)) };
}

/** Reads the holes of all events; those of chords are already known. */
function readEvents(events: readonly SoundEvent[], notes: readonly PlayableNote[]): HoleReading[][] {
  const known = events.map(({ set, expectedMidi }) => {
    if (set === undefined) return undefined;
    const at = set.midis.indexOf(expectedMidi);
    const { breath, holes, bends } = set;
    return findPlayable(notes, { hole: holes[at], breath, bend: bends?.[at] ?? 0, over: false });
  });
  return readHoles(events, notes, undefined, known);
}

type Measure = (events: readonly SoundEvent[], readings: readonly HoleReading[][]) => Promise<NoteMeasures[]>;

/**
 * Measures every note. If a second reed turns out to be louder, it becomes the note, and everything is read and
 * measured again.
 */
async function measureLoudest(
  events: readonly SoundEvent[],
  readings: readonly HoleReading[][],
  notes: readonly PlayableNote[],
  measure: Measure,
): Promise<{
  readonly events: readonly SoundEvent[];
  readonly readings: readonly HoleReading[][];
  readonly measured: readonly NoteMeasures[];
}> {
  const measured = await measure(events, readings);
  if (measured.every(({ louder }) => louder === null)) return { events, readings, measured };
  const heard = events.map((event, i) => {
    const { louder } = measured[i];
    return louder === null ? event : heardAt(event, louder);
  });
  const again = readEvents(heard, notes);
  return { events: heard, readings: again, measured: await measure(heard, again) };
}
