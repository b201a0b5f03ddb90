import { TOLERANCES } from '../check/finding.ts';
import { judge } from '../check/judge.ts';
import { scoreOf } from '../check/score.ts';
import { wentWell, workOn } from '../check/work.ts';
import type { PageFindings } from '../export/html-findings.ts';
import type { Take } from '../take/schema.ts';
import { openReference } from './check-run.ts';
import type { ExportCommandOptions } from './export.ts';
import type { Io } from './io.ts';

/**
 * What `check` finds in a take with its usual tolerances.
 * @throws ReedtraceError what opening the reference throws
 */
export async function loadFindings(
  take: Take,
  against: string,
  options: Pick<ExportCommandOptions, 'quiet' | 'tabStyle'>,
  io: Io,
): Promise<PageFindings> {
  const reference = await openReference(against, take, {}, options, io);
  const judgement = judge(take, reference, TOLERANCES);
  const { score, parts } = scoreOf(judgement, reference, TOLERANCES);
  const { bendCents, timeSec, leakDb } = TOLERANCES;
  return {
    against: reference.name,
    score,
    parts: parts.map(({ part, because }) => `${part}: ${because}`),
    findings: judgement.findings,
    workOn: workOn(judgement, reference, TOLERANCES),
    wentWell: wentWell(judgement, reference, TOLERANCES),
    remarks: judgement.remarks,
    judged: `Judged: bends within ${bendCents} cents of the harp as it is tuned, time within ${timeSec} s, second reeds from ${leakDb} dB.`,
  };
}
