import { readdir, stat } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { EXIT, type ExitCode, ReedtraceError } from '../../errors.ts';
import { easierScore } from '../../export/easier.ts';
import { adviceOfTake, parseAdvice } from '../../export/page/advice.ts';
import type { PagePiece, PageSound } from '../../export/page/options.ts';
import { phrasesOf } from '../../export/repeats.ts';
import { toldOnce, withoutTalk } from '../../export/retold.ts';
import { buildScore, notesOfHarp, type Score } from '../../export/score.ts';
import { checkTarget } from '../../files/check-target.ts';
import { KeptFiles } from '../../files/kept-files.ts';
import { readInput } from '../../files/read-input.ts';
import { writeWhole } from '../../files/write-whole.ts';
import { isDoubtful } from '../../tab/remarks.ts';
import { readTake } from '../../take/files/store.ts';
import type { Take } from '../../take/schema.ts';
import { decodeText } from '../../text/decode-text.ts';
import { checkNotKept, takesAndRecordings } from '../files/kept-inputs.ts';
import { inFolder } from '../files/make-folder.ts';
import { loadPageSound } from '../hear/page-sound.ts';
import { usualPaper } from '../options/locale.ts';
import type { Io } from '../terminal/io.ts';
import { oneLine } from '../terminal/message.ts';
import type { LessonCommandOptions } from './options.ts';
import { type LessonPlan, parseLesson } from './plan.ts';

const PLAN_FILE = 'lesson.txt';
const TAKE_FILE = /\.take\.json$/i;
const EXISTS_FIX = 'add `--force` to replace it, or `--out` and `--name` to write elsewhere';

/** A take of a lesson, with what the plan says about it. */
interface LessonTake {
  readonly path: string;
  readonly title: string | null;
  readonly notes: readonly string[];
}

/**
 * Makes the page and the PDF of a lesson.
 * @throws ReedtraceError E_USAGE, E_NOT_FOUND, E_TAKE_INVALID, E_NOTHING_PLAYED, E_EXISTS, E_CANNOT_WRITE, …
 */
export async function runLesson(
  paths: readonly string[],
  options: LessonCommandOptions,
  io: Io,
): Promise<ExitCode> {
  const gathered = await gather(paths, options);
  const out = options.out ?? gathered.folder;
  return inFolder(out, () => writeLesson(gathered, out, options, io));
}

async function writeLesson(
  { plan, takes }: Gathered,
  out: string,
  options: LessonCommandOptions,
  io: Io,
): Promise<ExitCode> {
  const writing = { replace: options.force ?? false, existsFix: EXISTS_FIX };
  const files = [join(out, `${options.name}.html`), join(out, `${options.name}.pdf`)];
  const otherName = 'choose another `--name`';
  const ofTakes = takes.map(({ path }) => [path, 'one of the takes'] as const);
  await checkNotKept(files, new KeptFiles(ofTakes), otherName);
  for (const file of files) await checkTarget(file, writing);
  const pieces: PagePiece[] = [];
  for (const take of takes) {
    if (io.signal.aborted) throw new ReedtraceError('E_INTERRUPTED', 'stopped', 'run the command again');
    pieces.push(await pieceOf(take, options, io));
  }
  const opened = takes.map(({ path }, i) => ({ path, take: pieces[i].score.take }));
  await checkNotKept(files, new KeptFiles(takesAndRecordings(opened)), otherName);
  if (options.easier) await addEasier(pieces, options, io);
  const title = options.title ?? plan?.title ?? pieces[0].score.title;
  const [{ writePage }, { composeSheets }, { sheetPdf }] = await Promise.all([
    import('../../export/page/page.ts'),
    import('../../export/sheet/pages.ts'),
    import('../../export/sheet/pdf.ts'),
  ]);
  const sheet = await composeSheets(
    title,
    pieces.map(({ score }) => score),
    {
      style: options.tabStyle,
      place: options.tabPlace,
      paper: options.paper ?? usualPaper(io.env),
      by: options.by ?? null,
      signal: io.signal,
    },
  );
  await writeWhole([
    { path: files[0], content: writePage(title, pieces), ...writing },
    { path: files[1], content: await sheetPdf(sheet), ...writing },
  ]);
  for (const file of files) io.stdout.write(`${oneLine(file)}\n`);
  return EXIT.done;
}

interface Gathered {
  readonly folder: string;
  readonly plan: LessonPlan | null;
  readonly takes: readonly LessonTake[];
}

/** The takes in order, and the folder that they are in. */
async function gather(paths: readonly string[], { plan: planFile }: LessonCommandOptions): Promise<Gathered> {
  const folders = await Promise.all(
    paths.map((path) =>
      stat(path).then(
        (found) => found.isDirectory(),
        () => false,
      ),
    ),
  );
  const folder = folders[0] ? paths[0] : dirname(paths[0]);
  const listed: string[] = [];
  for (const [i, path] of paths.entries()) {
    if (!folders[i]) listed.push(path);
    else {
      const names = (await readdir(path)).filter((name) => TAKE_FILE.test(name));
      listed.push(
        ...names.sort(new Intl.Collator('en', { numeric: true }).compare).map((name) => join(path, name)),
      );
    }
  }
  const plan = await readPlan(planFile, folder, folders.includes(true));
  const takes =
    plan === null || plan.items.length === 0
      ? listed.map((path) => ({ path, title: null, notes: [] }))
      : plan.items.map(({ file, title, notes }) => ({ path: join(folder, file), title, notes }));
  if (takes.length === 0) {
    throw new ReedtraceError(
      'E_NOT_FOUND',
      `the folder '${folder}' has no takes`,
      'make them with `reedtrace transcribe`',
    );
  }
  return { folder, plan, takes };
}

async function readPlan(
  named: string | undefined,
  folder: string,
  isFolder: boolean,
): Promise<LessonPlan | null> {
  if (named === undefined && !isFolder) return null;
  const path = named ?? join(folder, PLAN_FILE);
  if (
    named === undefined &&
    !(await stat(path).then(
      () => true,
      () => false,
    ))
  )
    return null;
  const bytes = await readInput(path, {
    missing: 'name the text file of the lesson with `--plan`',
    other: 'give a text file',
  });
  return parseLesson(decodeText(bytes), path);
}

async function pieceOf(
  { path, title, notes }: LessonTake,
  options: LessonCommandOptions,
  io: Io,
): Promise<PagePiece> {
  const read = await readTake(path);
  if (read.notes.length === 0) {
    throw new ReedtraceError('E_NOTHING_PLAYED', `'${path}' has no notes`, 'leave it out of the lesson');
  }
  const doubtful = read.notes.filter(isDoubtful).length;
  if (doubtful > 0 && !options.quiet)
    io.stderr.write(`remark: ${oneLine(`${path}: ${doubtRemark(doubtful)}`)}\n`);
  if (title === null && read.title === undefined && !options.quiet) {
    const named = `the title is '${titleOf(path)}', from the name of the file; lesson.txt gives another, as in \`${basename(path)}: The tune\``;
    io.stderr.write(`remark: ${oneLine(`${path}: ${named}`)}\n`);
  }
  const take = options.once ? toldOnce(read) : withoutTalk(read);
  const score = buildScore(take, title ?? take.title ?? titleOf(path), notesOfHarp(take));
  const sound = options.audio ? await soundOf(path, read, take, options, io) : null;
  const lines = phrasesOf(score, options.tabStyle);
  const advice =
    notes.length === 0 ? adviceOfTake(score.take, lines) : parseAdvice(notes.join('\n'), lines.length, path);
  return { ...(await shared(score, options, io)), sound, advice };
}

/** A pupil can't tell whether the teacher's tab is right, so doubts are reported to whoever makes the lesson. */
function doubtRemark(count: number): string {
  const what = count === 1 ? 'the hole of one note is' : `the holes of ${count} notes are`;
  return `${what} doubtful, which the page doesn't show; check with \`reedtrace correct\``;
}

async function shared(
  score: Score,
  { tabStyle, tabPlace, by }: LessonCommandOptions,
  { signal }: Io,
): Promise<PagePiece> {
  const { engraveForPage } = await import('../../export/page/staff.ts');
  return {
    score,
    style: tabStyle,
    place: tabPlace,
    sound: null,
    staff: await engraveForPage(score, tabStyle, signal),
    findings: null,
    by: by ?? null,
    faults: false,
  };
}

async function soundOf(
  path: string,
  read: Take,
  take: Take,
  { quiet }: LessonCommandOptions,
  io: Io,
): Promise<PageSound | null> {
  const { sound, remark } = await loadPageSound(path, read, undefined, io.signal, 'put it next to the take');
  if (remark !== null && !quiet) io.stderr.write(`remark: ${oneLine(`${path}: ${remark}`)}\n`);
  if (sound === null || take === read) return sound;
  const place = new Map(read.notes.map(({ id }, i) => [id, i]));
  return { ...sound, contours: take.notes.map(({ id }) => sound.contours[place.get(id)!]) };
}

async function addEasier(pieces: PagePiece[], options: LessonCommandOptions, io: Io): Promise<void> {
  const easier = easierScore(pieces[0].score, options.tabStyle);
  if (easier === null) {
    if (!options.quiet) io.stderr.write('remark: there is no easier way on this harp in this key\n');
    return;
  }
  if (!options.quiet) io.stderr.write(`remark: the easier way: ${oneLine(easier.changes)}\n`);
  pieces.push({
    ...(await shared(easier.score, options, io)),
    about: `The easier way: ${easier.changes}.`,
  });
}

/** `week-3.take.json` gives `Week 3`. */
function titleOf(path: string): string {
  const name = path.replace(/^.*[/\\]/, '').replace(/(\.take)?\.json$/i, '');
  const title = name.replaceAll(/[-_]+/g, ' ').trim() || name;
  return title.replace(/^\p{Ll}/u, (letter) => letter.toUpperCase());
}
