import { basename } from 'node:path';
import { adviceInWords } from '../../check/advice/in-words.ts';
import { checkTake } from '../../check/check-take.ts';
import { type Finding, TOLERANCES } from '../../check/finding.ts';
import type { JudgedNote } from '../../check/judging/judge.ts';
import { ReedtraceError } from '../../errors.ts';
import type { PageFindings } from '../../export/page/findings.ts';
import type { TeacherSound } from '../../export/page/options.ts';
import type { CustomHarp } from '../../harp/types.ts';
import { readTake } from '../../take/files/store.ts';
import type { Take } from '../../take/schema.ts';
import { openReference } from '../hear/open-reference.ts';
import { kindOfFile } from '../hear/open-take.ts';
import { loadPageSound } from '../hear/page-sound.ts';
import type { Io } from '../terminal/io.ts';
import type { ExportCommandOptions } from './options.ts';
import { linesInTeacher } from './teacher.ts';

/** The student's note that a missed one should have followed: the latest that matches an earlier one. */
function noteBefore(
  judged: readonly JudgedNote[],
  { referenceIndex: missed, timeSec }: Finding,
): string | null {
  let found: JudgedNote | null = null;
  for (const each of judged) {
    const { referenceIndex: place, note } = each;
    if (place === null || missed === null || place >= missed) continue;
    const nearer = found === null || place > found.referenceIndex!;
    // After a restart the same place occurs twice.
    if (nearer || (place === found!.referenceIndex && note.onsetSec <= timeSec)) found = each;
  }
  return found?.note.id ?? null;
}

/** The findings of comparing a take with a reference, and the reference's sound. */
export interface ComparedTake {
  readonly findings: PageFindings;
  teacherSound(
    lines: readonly { readonly first: number; readonly last: number }[],
  ): Promise<TeacherSound | null>;
}

/** The error for a take from an older program that has a custom tuning but doesn't hold it. */
function ownTuning(take: Take, custom: CustomHarp): (error: unknown) => never {
  return (error) => {
    if (!(error instanceof ReedtraceError) || error.code !== 'E_TUNING' || custom.layout) throw error;
    throw new ReedtraceError(
      'E_TUNING',
      `the take was made with a custom tuning ('${take.harp.tuning}')`,
      'name its JSON file with `--tuning`, or transcribe the recording again',
      { cause: error },
    );
  };
}

/**
 * What `check` finds in a take with the default tolerances.
 * @throws ReedtraceError what opening the reference throws
 */
export async function loadFindings(
  take: Take,
  against: string,
  options: Pick<ExportCommandOptions, 'quiet' | 'tabStyle'>,
  custom: CustomHarp,
  io: Io,
): Promise<ComparedTake> {
  const held = async () => {
    const reference = await openReference(against, take, { custom }, { ...options, fitRepeats: true }, io);
    return { reference, checked: checkTake(take, reference, { tolerances: TOLERANCES, custom }) };
  };
  const { reference, checked } = await held().catch(ownTuning(take, custom));
  const { judgement, score: marks } = checked.attempt;
  const { score, parts } = marks;
  const { bendCents, timeSec, leakDb } = TOLERANCES;
  const findings = {
    against: reference.name,
    score,
    parts: parts.map(({ part, because }) => `${part}: ${because}`),
    // Another tune's notes are not judged.
    findings: (checked.otherTune ? [] : judgement.findings).map((finding) =>
      finding.kind === 'missed' ? { ...finding, afterNoteId: noteBefore(judgement.notes, finding) } : finding,
    ),
    workOn: checked.advice.map(adviceInWords),
    wentWell: checked.wentWell,
    remarks: checked.remarks,
    judged: `Judged: bends within ${bendCents} cents of the harp's own tuning, time within ${timeSec} s, second reeds from ${leakDb} dB.`,
  };
  return {
    findings,
    teacherSound: (lines) => soundOfReference(against, take, lines, judgement.notes, io),
  };
}

/** The recording of the reference, if it is a recording, or a take with its recording. */
async function soundOfReference(
  against: string,
  pupil: Take,
  lines: readonly { readonly first: number; readonly last: number }[],
  judged: readonly JudgedNote[],
  io: Io,
): Promise<TeacherSound | null> {
  if (against === '-' || (await kindOfFile(against)) !== 'take') return null;
  const teacher = await readTake(against);
  const { sound } = await loadPageSound(against, teacher, undefined, io.signal);
  if (sound === null) return null;
  return { name: basename(against), sound, lines: linesInTeacher(lines, judged, teacher, pupil) };
}
