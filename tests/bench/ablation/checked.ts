import { join } from 'node:path';
import type { checkTake } from '../../../src/check/check-take.ts';
import { TOLERANCES } from '../../../src/check/finding.ts';
import { referenceOf } from '../../check/student.ts';
import { playStudent, SITUATIONS, SoundTallying, takeOfStudent } from '../measures/planted-sound.ts';
import { inShort, type Yardstick } from './yardstick.ts';

/** Seeds that no other benchmark uses, so that this table can't influence their results. */
const SEED = 40;

/**
 * Students who make mistakes, heard once and checked: the share of planted mistakes that is found, findings without a cause per
 * hundred notes, and all that is said.
 * @param each  students of each situation
 */
export async function checkedStudents(dist: string, each: number): Promise<Yardstick> {
  const check = join(dist, 'check/check-take.js');
  const students = await Promise.all(
    SITUATIONS.flatMap((situation, s) =>
      Array.from({ length: each }, async (_, k) => {
        const played = playStudent(situation, 1000 * (SEED + s) + k);
        const reference = referenceOf(played.tune, played.harp.key);
        return { played, reference, take: await takeOfStudent(played) };
      }),
    ),
  );
  return {
    of: `${students.length} students`,
    entries: [check],
    scores: ['found of what was planted', 'found without a cause, per note'],
    async measure(load) {
      const { checkTake: judge } = await load<{ checkTake: typeof checkTake }>(check);
      const tallying = new SoundTallying();
      const told = students.map(({ played, reference, take }, i) => {
        const { attempt, advice, wentWell, remarks } = judge(take, reference, { tolerances: TOLERANCES });
        const { findings } = attempt.judgement;
        tallying.add(String(i), played, take, findings);
        return [...findings, ...advice, ...wentWell, ...remarks, attempt.score].map(inShort);
      });
      const { planted, found, notes, falseKinds } = tallying.sum();
      const withoutCause = [...falseKinds.values()].reduce((sum, count) => sum + count, 0);
      return { scores: [found / planted, withoutCause / notes], told };
    },
  };
}
