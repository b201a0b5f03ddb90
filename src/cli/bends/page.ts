import { basename } from 'node:path';
import { readRecording } from '../../audio/read.ts';
import { Samples } from '../../audio/samples.ts';
import type { PlayedBend } from '../../check/bends/collect.ts';
import { ReedtraceError } from '../../errors.ts';
import { type HeardAttempt, practicePage } from '../../export/page/practice-page.ts';
import { checkTarget } from '../../files/check-target.ts';
import { KeptFiles } from '../../files/kept-files.ts';
import { writeWhole } from '../../files/write-whole.ts';
import { pitchContours } from '../../measure/pitch-contour.ts';
import { checkNotKept, takesAndRecordings } from '../files/kept-inputs.ts';
import { recordingOf } from '../files/take-recording.ts';
import type { Io } from '../terminal/io.ts';
import { oneLine } from '../terminal/message.ts';
import { type BendsReport, bendsSvg, bendsWeeksSvg } from './document.ts';
import type { OpenedTake } from './opened-take.ts';
import type { BendsCommandOptions } from './options.ts';

/** Time shown before a bend, so that its approach can be seen, and played before and after it. */
const BEFORE_SEC = 0.35;
const AROUND_SEC = 0.4;
/** Level of every excerpt, the same as of the target's tone. RMS, full scale 1. */
const LEVEL = 0.08;
const LOUDEST = 0.9;
const FADE_SEC = 0.02;

/**
 * Writes the plan, attempts and charts as a page.
 * @throws ReedtraceError E_EXISTS, E_CANNOT_WRITE, and what reading the recordings throws
 */
export async function writePage(
  file: string,
  takes: readonly OpenedTake[],
  report: BendsReport,
  options: BendsCommandOptions,
  io: Io,
): Promise<void> {
  const writing = {
    replace: options.force ?? false,
    existsFix: 'add `--force` to replace it, or give `--html` another name',
  };
  await checkNotKept([file], new KeptFiles(takesAndRecordings(takes)), 'give `--html` another name');
  await checkTarget(file, writing);
  const excerpts = new Excerpts(takes, io);
  const heard = [];
  for (const { best, typical } of report.plan?.bends ?? []) {
    const one = await excerpts.of(best);
    heard.push({ best: one, typical: typical === best ? one : await excerpts.of(typical) });
  }
  const { tabStyle } = options;
  const weeks = bendsWeeksSvg(report, tabStyle);
  const content = practicePage({
    title: 'Bends to practise',
    plan: report.plan!,
    toleranceCents: report.tolerance,
    style: tabStyle,
    heard,
    charts: [
      { heading: 'All bends', svg: bendsSvg(report, tabStyle) },
      ...(weeks === null ? [] : [{ heading: 'Day by day', svg: weeks }]),
    ],
  });
  await writeWhole([{ path: file, content, ...writing }]);
  io.stdout.write(`${oneLine(file)}\n`);
}

/** Excerpts from the recordings of takes, each of which is read only once. */
class Excerpts {
  readonly #takes: readonly OpenedTake[];
  readonly #io: Io;
  readonly #samples = new Map<OpenedTake, Promise<Samples | null>>();

  constructor(takes: readonly OpenedTake[], io: Io) {
    this.#takes = takes;
    this.#io = io;
  }

  /** @returns null if the recording is missing */
  async of({ take, note }: PlayedBend): Promise<HeardAttempt | null> {
    const opened = this.#takes.find((each) => each.take === take)!;
    const samples = await this.#read(opened);
    if (samples === null) return null;
    const place = take.notes.indexOf(note);
    const before = take.notes[place - 1];
    const lead =
      before === undefined
        ? []
        : [{ ...before, onsetSec: Math.max(before.onsetSec, note.onsetSec - BEFORE_SEC) }].filter(
            ({ onsetSec, offsetSec }) => offsetSec > onsetSec,
          );
    const points = pitchContours(samples, [...lead, note]).flat();
    const fromSec = Math.max(0, note.onsetSec - AROUND_SEC);
    const { encodeMp3 } = await import('../../sound/mp3.ts');
    const sound = await encodeMp3(
      excerptOf(samples, fromSec, note.offsetSec + AROUND_SEC / 2),
      this.#io.signal,
    );
    return { points, sound };
  }

  #read(opened: OpenedTake): Promise<Samples | null> {
    const known = this.#samples.get(opened);
    if (known !== undefined) return known;
    const reading = this.#open(opened);
    this.#samples.set(opened, reading);
    return reading;
  }

  async #open({ path, take }: OpenedTake): Promise<Samples | null> {
    if (path === '-') return null;
    const isRecording = basename(path) === take.source.file;
    const recording = isRecording
      ? path
      : await recordingOf(path, take).catch((error: unknown) => {
          if (error instanceof ReedtraceError) return null;
          throw error;
        });
    if (recording === null) return null;
    return (await readRecording(recording, { signal: this.#io.signal })).samples;
  }
}

/** An excerpt at the level of a tone, with faded ends. */
function excerptOf(samples: Samples, fromSec: number, toSec: number): Samples {
  const { sampleRate } = samples;
  const until = Math.min(toSec, samples.durationSec);
  const out = new Float32Array(Math.max(1, Math.round((until - fromSec) * sampleRate)));
  samples.read(Math.round(fromSec * sampleRate), out);
  const power = out.reduce((sum, value) => sum + value * value, 0) / out.length;
  const peak = out.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  const gain = power === 0 ? 1 : Math.min(LEVEL / Math.sqrt(power), LOUDEST / peak);
  const fade = Math.min(out.length >> 1, Math.round(FADE_SEC * sampleRate));
  for (let i = 0; i < out.length; i++) out[i] *= gain * Math.min(1, i / fade, (out.length - 1 - i) / fade);
  return Samples.from(out, sampleRate);
}
