import { readRecording } from '../../audio/read.ts';
import { ReedtraceError } from '../../errors.ts';
import { buildScore } from '../../export/score.ts';
import { checkTarget } from '../../files/check-target.ts';
import { KeptFiles } from '../../files/kept-files.ts';
import { type WriteOptions, writeWhole } from '../../files/write-whole.ts';
import { findPlayable, playableNotes } from '../../harp/playable.ts';
import { countInTimes } from '../../music/rhythm/count-in.ts';
import { evenGain } from '../../recording/even-loudness.ts';
import { findPlayer, Playback, playerAdvice } from '../../sound/play.ts';
import { type Passage, type PracticeSource, practise } from '../../sound/practice.ts';
import type { SoundedNote } from '../../sound/tab-sound.ts';
import { encodeWav } from '../../sound/write-wav.ts';
import { formatTime } from '../../tab/sheet-time.ts';
import { readTake } from '../../take/files/store.ts';
import type { Take } from '../../take/schema.ts';
import { besideTake, recordingOf } from '../files/take-recording.ts';
import type { Io } from '../terminal/io.ts';
import { oneLine } from '../terminal/message.ts';
import { createProgress } from '../terminal/progress.ts';
import type { PhraseRange, PlayOptions } from './options.ts';

/** Sample rate of tab alone, in Hz: every player accepts it. */
const TAB_RATE_HZ = 44_100;

/**
 * Plays a take, or writes what would be played.
 * @throws ReedtraceError E_CANNOT_PLAY without a player or when it fails; E_NOT_FOUND, E_USAGE, E_EXISTS, …
 */
export async function runPlay(path: string, options: PlayOptions, io: Io): Promise<void> {
  const player = options.out === undefined ? findPlayer(io.env, process.platform) : null;
  if (options.out === undefined && player === null) {
    throw new ReedtraceError(
      'E_CANNOT_PLAY',
      'no sound player was found',
      `${playerAdvice(process.platform).replace(/^.*?: /, '')}; or write a file with \`--out\``,
    );
  }
  const take = await readTake(path);
  if (take.notes.length === 0) {
    throw new ReedtraceError('E_NOTHING_PLAYED', `'${path}' has no notes`, 'give a take with notes');
  }
  const passages = passagesOf(take, options);
  const recording = options.sound === 'tab' ? null : await recordingOf(path, take, options.recording);
  const writing = { replace: options.force ?? false, existsFix: EXISTS_FIX };
  // The recording must not be overwritten even if only tab is played.
  const kept = [path, recording ?? besideTake(path, take)].map((each) => [each, each] as const);
  if (options.out !== undefined) await checkOut(options.out, writing, new KeptFiles(kept));
  const say = (text: string) => {
    if (!options.quiet) io.stderr.write(`${oneLine(text)}\n`);
  };
  const source = await openSource(take, recording, options, io, say);
  const samples = practise(source, passages, { speed: options.speed, answer: options.answer ?? false });
  if (options.out !== undefined) {
    await writeWhole([{ path: options.out, content: encodeWav(samples, source.sampleRate, 16), ...writing }]);
    io.stdout.write(`${oneLine(options.out)}\n`);
    return;
  }
  say(`playing ${inWords(passages, options)}; on headphones keep the level moderate`);
  await sound(
    new Playback(player!),
    { samples, sampleRate: source.sampleRate, loop: options.loop ?? false },
    io,
  );
}

/** One passage for each phrase with `--answer`, otherwise one for everything. */
function passagesOf(take: Take, { phrase, countIn, answer }: PlayOptions): Passage[] {
  const phrases =
    take.phrases.length > 0 ? take.phrases : [{ firstNote: 0, lastNote: take.notes.length - 1 }];
  const chosen = phrase === undefined ? phrases : choose(phrases, phrase);
  const whole = [{ firstNote: chosen[0].firstNote, lastNote: chosen[chosen.length - 1].lastNote }];
  // Everything that was played, not only what is in phrases.
  const all = [{ firstNote: 0, lastNote: take.notes.length - 1 }];
  const score = buildScore(take, '');
  return (answer ? chosen : phrase === undefined ? all : whole).map(({ firstNote, lastNote }) => {
    const { onsetSec } = take.notes[firstNote];
    const { atTicks } = score.notes[firstNote];
    const clicks =
      countIn === undefined
        ? []
        : countInTimes(score.beats, { onsetSec, atTicks }, countIn === true ? undefined : countIn);
    const toSec = take.notes
      .slice(firstNote, lastNote + 1)
      .reduce((latest, { offsetSec }) => Math.max(latest, offsetSec), onsetSec);
    return { fromSec: onsetSec, toSec, countInSec: clicks };
  });
}

function choose<T>(phrases: readonly T[], { first, last }: PhraseRange): readonly T[] {
  if (last <= phrases.length) return phrases.slice(first - 1, last);
  throw new ReedtraceError(
    'E_USAGE',
    `there is no phrase ${last}: the take has ${phrases.length}`,
    `give \`--phrase\` a number from 1 to ${phrases.length}`,
  );
}

async function openSource(
  take: Take,
  recording: string | null,
  options: PlayOptions,
  io: Io,
  say: (text: string) => void,
): Promise<PracticeSource> {
  const notes = options.sound === 'recording' ? null : tabNotes(take);
  if (recording === null) return { sampleRate: TAB_RATE_HZ, excerpt: null, notes };
  const progress = createProgress(io, { quiet: options.quiet ?? false, stages: ['reading'] });
  progress.begin(take.source.file);
  const { samples, source } = await readRecording(recording, {
    signal: io.signal,
    onProgress: (fraction) => progress.report('reading', fraction),
  }).finally(() => progress.clear());
  if (source.sha256 !== take.source.sha256) {
    say(`remark: '${recording}' is not the file that the take was made from: times may not match`);
  }
  // Teacher and pupil are equally loud, however close their phones were.
  const gain = evenGain(samples);
  const excerpt = (fromSec: number, toSec: number) => {
    const out = new Float32Array(Math.max(0, Math.round((toSec - fromSec) * samples.sampleRate)));
    samples.read(Math.round(fromSec * samples.sampleRate), out);
    return out.map((value) => gain * value);
  };
  return { sampleRate: samples.sampleRate, excerpt, notes };
}

/** The pitch that each note should have on this harp; the measured one if the take does not hold its tuning. */
function tabNotes(take: Take): SoundedNote[] {
  let harp: ReturnType<typeof playableNotes> = [];
  try {
    harp = playableNotes(take.harp);
  } catch {
    // A take from an older program lacks the custom tuning, but has the measured pitches.
  }
  return take.notes.map((note) => ({
    onsetSec: note.onsetSec,
    offsetSec: note.offsetSec,
    f0Hz: findPlayable(harp, note)?.f0Hz ?? note.f0Hz,
  }));
}

function inWords(passages: readonly Passage[], { phrase, speed, sound, loop }: PlayOptions): string {
  const what = sound === 'both' ? 'the recording with its tab' : `the ${sound}`;
  const which =
    phrase === undefined
      ? ''
      : phrase.first === phrase.last
        ? `, phrase ${phrase.first}`
        : `, phrases ${phrase.first} to ${phrase.last}`;
  const times = `${formatTime(passages[0].fromSec)} to ${formatTime(passages[passages.length - 1].toSec)}`;
  const pace = speed === 1 ? '' : `, at ${Math.round(100 * speed)} %`;
  return `${what}${which}, ${times}${pace}${loop ? ', until Ctrl-C' : ''}`;
}

/** Waits until the sound has ended; Ctrl-C ends it at once. */
async function sound(
  playback: Playback,
  excerpt: { samples: Float32Array; sampleRate: number; loop: boolean },
  { signal }: Io,
): Promise<void> {
  try {
    const failure = await new Promise<string | null>((done, stop) => {
      const interrupt = () => stop(new ReedtraceError('E_INTERRUPTED', 'stopped', 'play it again'));
      if (signal.aborted) return interrupt();
      signal.addEventListener('abort', interrupt, { once: true });
      playback.play(excerpt, done);
    });
    if (failure !== null) {
      throw new ReedtraceError(
        'E_CANNOT_PLAY',
        failure,
        'check that sound works on this computer, or write a file with `--out`',
      );
    }
  } finally {
    playback.close();
  }
}

const EXISTS_FIX = 'add `--force` to replace it, or give `--out` another name';

/** Makes sure that a file may be written, and is neither the take nor its recording. */
async function checkOut(out: string, writing: WriteOptions, kept: KeptFiles): Promise<void> {
  if ((await kept.find(out)) !== null) {
    throw new ReedtraceError('E_USAGE', `'${out}' is the file to be played`, 'give `--out` another name');
  }
  await checkTarget(out, writing);
}
