import { dirname, join, resolve } from 'node:path';
import { EXIT, type ExitCode, ReedtraceError } from '../../errors.ts';
import { type ExportFormat, FORMATS, type FormatName } from '../../export/formats.ts';
import { adviceOfTake, parseAdvice } from '../../export/page/advice.ts';
import type { PageSound } from '../../export/page/options.ts';
import { linesOf, phrasesOf, variationsInWords } from '../../export/repeats.ts';
import { buildScore, notesOfHarp, type Score } from '../../export/score.ts';
import { checkTarget } from '../../files/check-target.ts';
import { KeptFiles } from '../../files/kept-files.ts';
import { readInput } from '../../files/read-input.ts';
import { type FileToWrite, writeWhole } from '../../files/write-whole.ts';
import type { CustomHarp } from '../../harp/types.ts';
import { plainText } from '../../plain-text.ts';
import { setMusic } from '../../take/edits/set-music.ts';
import { type HeldTake, holdTake } from '../../take/files/hold.ts';
import { readTake, takeFile } from '../../take/files/store.ts';
import { parseTake } from '../../take/parse.ts';
import type { Take } from '../../take/schema.ts';
import { decodeText } from '../../text/decode-text.ts';
import { sizeInWords } from '../../text/size.ts';
import { makeFolder } from '../files/make-folder.ts';
import { besideTake } from '../files/take-recording.ts';
import { kindOfFile } from '../hear/open-take.ts';
import { usualDecimal, usualPaper } from '../options/locale.ts';
import { changesMusic, keptInWords, wordsRemark } from '../options/music.ts';
import { reportFault } from '../terminal/fault-report.ts';
import { type Io, readAll } from '../terminal/io.ts';
import { errorLine, isInterruption, oneLine, worse } from '../terminal/message.ts';
import type { ComparedTake } from './findings.ts';
import type { ExportCommandOptions } from './options.ts';
import { type ExportPlan, makePlan } from './plan.ts';
import { remarksOn } from './remarks.ts';
import { checkFree, checkNotWords, nameOf, pageFile, recordingFault, titleOf } from './targets.ts';

/** Formats that people pass on, where a file name may reveal more than they want, such as a place. */
const TO_SEND: ReadonlySet<FormatName> = new Set(['html', 'pdf', 'svg']);

/**
 * Exports takes one after another; one that fails doesn't stop the others.
 * @returns the highest exit code among them
 * @throws ReedtraceError E_USAGE, E_NOT_FOUND, … for what concerns all of them; E_INTERRUPTED
 */
export async function runExport(
  paths: readonly string[],
  options: ExportCommandOptions,
  io: Io,
): Promise<ExitCode> {
  const plan = await makePlan(paths, options, io);
  const { words } = plan.music;
  const remark = wordsRemark(words);
  if (remark !== null && !options.quiet) io.stderr.write(`remark: ${remark}\n`);
  if (options.out !== undefined) await makeFolder(options.out);
  let code: ExitCode = EXIT.done;
  const written = new Map<string, string>();
  for (const path of paths) {
    if (io.signal.aborted) throw new ReedtraceError('E_INTERRUPTED', 'stopped', 'run the command again');
    try {
      await exportOne(path, plan, options, io, written);
    } catch (error) {
      if (isInterruption(error)) throw error;
      if (!(error instanceof ReedtraceError)) {
        code = worse(code, await reportFault(io, error, [path], options.debug ?? false));
        continue;
      }
      io.stderr.write(errorLine(error));
      code = worse(code, error.exitCode);
    }
  }
  return code;
}

async function exportOne(
  path: string,
  plan: ExportPlan,
  options: ExportCommandOptions,
  io: Io,
  written: Map<string, string>,
): Promise<void> {
  const read =
    path === '-' ? parseTake(decodeText(await readAll(io.stdin)), 'standard input') : await readTake(path);
  if (read.notes.length === 0) {
    throw new ReedtraceError('E_NOTHING_PLAYED', `'${path}' has no notes`, 'give a take with notes');
  }
  const held = changesMusic(plan.music) && options.save && path !== '-' ? await holdTake(path) : null;
  try {
    await exportTake(held?.take ?? read, held, path, plan, options, io, written);
  } finally {
    held?.release();
  }
}

async function exportTake(
  read: Take,
  held: HeldTake | null,
  path: string,
  plan: ExportPlan,
  options: ExportCommandOptions,
  io: Io,
  written: Map<string, string>,
): Promise<void> {
  const { take, remarks } = setMusic(read, plan.music);
  const name = nameOf(path, take);
  const score = buildScore(
    take,
    plainText(options.title ?? take.title ?? titleOf(name)),
    notesOfHarp(take, plan.custom),
  );
  const folder = options.out ?? dirname(path);
  const targets = plan.formats.map((format) => ({
    format: FORMATS[format] as ExportFormat,
    file: join(folder, `${name}${FORMATS[format].extension}`),
  }));
  const writing = { replace: options.force ?? false, existsFix: EXISTS_FIX };
  const recording = new KeptFiles([[besideTake(path, take), 'the recording']]);
  const check = async (file: string) => {
    const input = (await plan.inputs.find(file)) ?? (await recording.find(file));
    checkFree(file, path, input, written);
    await checkNotWords(file);
    await checkTarget(file, writing);
    if ((await kindOfFile(file)) === 'recording') throw recordingFault(file);
  };
  for (const { file } of targets) await check(file);
  const say = (text: string) => {
    if (!options.quiet) io.stderr.write(`${oneLine(text)}\n`);
  };
  const title =
    options.title === undefined && take.title === undefined && plan.formats.some((one) => TO_SEND.has(one))
      ? [`the title is '${score.title}', from the name of the file; \`--title\` gives another`]
      : [];
  const variations = plan.music.words === null ? [] : variationsInWords(score, options.tabStyle);
  for (const remark of [...remarks, ...variations, ...remarksOn(score, plan.formats), ...title])
    say(`remark: ${name}: ${remark}`);
  const remarkOn = (remark: string) => say(`remark: ${name}: ${remark}`);
  const sound = await soundFor(path, take, plan, options, io, remarkOn);
  const compared =
    options.against === undefined ? null : await findingsFor(take, options.against, options, plan.custom, io);
  const teacher =
    compared === null || !options.audio
      ? null
      : await compared.teacherSound(linesOf(score, options.tabStyle));
  const advice = await readAdvice(score, options);
  const files: FileToWrite[] = [];
  for (const { format, file } of targets) {
    if (io.signal.aborted) throw new ReedtraceError('E_INTERRUPTED', 'stopped', 'run the command again');
    const exporting = {
      style: options.tabStyle,
      place: options.tabPlace,
      columns: options.columns,
      lengths: options.lengths ?? false,
      repeats: options.repeats ?? 'full',
      asPlayed: options.asPlayed ?? false,
      paper: options.paper ?? usualPaper(io.env),
      by: options.by ?? null,
      decimal: options.csvDecimal ?? usualDecimal(io.env),
      sound,
      findings: compared?.findings ?? null,
      teacher,
      advice,
      signal: io.signal,
    };
    const [content, ...pages] = (await format.writePages?.(score, exporting)) ?? [
      await format.write(score, exporting),
    ];
    if (content === null) {
      remarkOn(`'${file}' was not written: the take holds ${format.nothing}`);
      continue;
    }
    files.push({ path: file, content, ...writing });
    for (const [i, page] of pages.entries()) {
      const more = pageFile(file, i + 2);
      await check(more);
      files.push({ path: more, content: page as string, ...writing });
    }
    if (sound !== null && format === FORMATS.html) {
      const { length } = Buffer.from(content);
      remarkOn(
        `the page is ${sizeInWords(length)}, the sound in it ${sizeInWords(sound.bytes.length)} of MP3`,
      );
    }
  }
  const changed = (await held?.keep(take, new Date())) ?? null;
  await writeWhole(changed === null ? files : [...files, takeFile(path, changed.take)]);
  for (const file of files) {
    written.set(resolve(file.path), path);
    io.stdout.write(`${oneLine(file.path)}\n`);
  }
  const kept = keptInWords(changed?.kept ?? []);
  if (kept !== null) remarkOn(kept);
}

/** The teacher's remarks on the lines of the tune. */
async function readAdvice(
  score: Score,
  { notes, tabStyle }: ExportCommandOptions,
): Promise<Map<number, string>> {
  const lines = phrasesOf(score, tabStyle);
  if (notes === undefined) return adviceOfTake(score.take, lines);
  const bytes = await readInput(notes, { other: 'give a text file' });
  return parseAdvice(decodeText(bytes), lines.length, notes);
}

async function findingsFor(
  take: Take,
  against: string,
  options: ExportCommandOptions,
  custom: CustomHarp,
  io: Io,
): Promise<ComparedTake> {
  const { loadFindings } = await import('./findings.ts');
  return loadFindings(take, against, options, custom, io);
}

/** The recording, if a page is to contain it. */
async function soundFor(
  path: string,
  take: Take,
  { formats }: ExportPlan,
  { audio, recording }: ExportCommandOptions,
  io: Io,
  remarkOn: (remark: string) => void,
): Promise<PageSound | null> {
  if (!formats.includes('html') || !audio) return null;
  const { loadPageSound } = await import('../hear/page-sound.ts');
  const { sound, remark } = await loadPageSound(path, take, recording, io.signal);
  if (remark !== null) remarkOn(remark);
  return sound;
}

const EXISTS_FIX = 'add `--force` to replace it, or `--out` to write elsewhere';
