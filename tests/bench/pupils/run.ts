import { parseArgs } from 'node:util';
import { planTake } from '../../../samples/synth/plan.ts';
import { renderTake } from '../../../samples/synth/render.ts';
import { seededRng } from '../../../samples/synth/rng.ts';
import { peakTo } from '../../../samples/synth/scene/degrade.ts';
import type { PlayingStyle } from '../../../samples/synth/style.ts';
import { randomTimbre } from '../../../samples/synth/timbre.ts';
import { Samples } from '../../../src/audio/samples.ts';
import type { Reference } from '../../../src/check/align/reference.ts';
import { checkTake } from '../../../src/check/check-take.ts';
import { TOLERANCES } from '../../../src/check/finding.ts';
import { compareTakes } from '../../../src/check/progress/compare.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import { transcribe } from '../../../src/pipeline.ts';
import type { Take } from '../../../src/take/schema.ts';
import { buildTake } from '../../../src/take/take.ts';
import { referenceOf, type Stroke, strokesOf } from '../../check/student.ts';
import { EXAMPLE_SOURCE } from '../../take/example.ts';
import { SITUATIONS, stepsOf, tallySound } from '../measures/planted-sound.ts';
import { textTable } from '../scores/table.ts';
import { PUPILS, type Pupil } from './pupils.ts';

/*
 * Plays, hears and checks the twelve pupils, and says how often the first point is the one that was written down; then students
 * with planted mistakes: `npm run bench:pupils -- --seed N [--students EACH] [--only pupils|planted] [--wrong]`. The same seed
 * plays the same, so nothing may be chosen by a seed that is to prove something. `--wrong` lists what was not found and
 * what has no cause.
 */

const RATE = 22_050;

async function takeOf(
  strokes: readonly Stroke[],
  style: PlayingStyle,
  pupil: Pupil,
  seed: number,
): Promise<Take> {
  const { playedOn = pupil.harp, beatSec } = pupil;
  const rng = seededRng(seed);
  const playable = playableNotes({ key: playedOn, tuning: 'richter', temperament: 'equal', a4Hz: 442 });
  const timed = { ...style, tempoBpm: 60 / beatSec, timingSec: 0, phrasePauseSec: [0, 0] as const };
  const ordered = strokes.toSorted(
    (a, b) => a.onset + (a.lateSec ?? 0) / beatSec - b.onset - (b.lateSec ?? 0) / beatSec,
  );
  const plan = planTake(stepsOf(ordered, beatSec), playable, timed, rng.fork('plan'));
  const rendered = renderTake(plan, randomTimbre(rng.fork('timbre')), RATE, rng.fork('render'));
  const samples = Samples.from(peakTo(rendered.samples, 0.6), RATE);
  const found = await transcribe(samples, { harp: playedOn });
  return buildTake({ ...EXAMPLE_SOURCE, durationSec: samples.durationSec }, found);
}

/** The tune with its lines. */
function referenceOfTune({ tune, harp }: Pupil): Reference {
  const reference = referenceOf(strokesOf(tune), harp);
  const lines = tune.split('|').map((line) => strokesOf(line).length);
  const lineOf = (b: number): number => {
    let line = 0;
    for (let left = b; left >= lines[line]; line++) left -= lines[line];
    return line + 1;
  };
  return { ...reference, notes: reference.notes.map((note, b) => ({ ...note, line: lineOf(b) })) };
}

async function twelvePupils(seed: number): Promise<void> {
  let agreed = 0;
  for (const [i, pupil] of PUPILS.entries()) {
    const reference = referenceOfTune(pupil);
    const take = await takeOf(pupil.strokes, pupil.style, pupil, 100 * seed + i);
    const checked = checkTake(take, reference, { tolerances: TOLERANCES });
    const faults: string[] = [];
    const first = checked.advice[0]?.kind ?? 'nothing';
    if (first !== pupil.first) faults.push(`says ${first} first, not ${pupil.first}`);
    const { whole, lines } = checked.scope;
    if (pupil.lines && (whole || lines.join() !== pupil.lines.join()))
      faults.push(`takes it for lines ${lines.join(' to ')}`);
    if (checked.attempts.all.length !== (pupil.attempts ?? 1))
      faults.push(`hears ${checked.attempts.all.length} attempts`);
    if (pupil.before) {
      const earlier = await takeOf(pupil.before.strokes, pupil.before.style, pupil, 100 * seed + 50 + i);
      const changes = compareTakes(
        checkTake(earlier, reference, { tolerances: TOLERANCES }).attempt,
        checked.attempt,
        TOLERANCES,
      );
      const better = changes.filter(({ verdict }) => verdict === 'better').map(({ of }) => of);
      // Bends are reported by how far they are off, and by how many are.
      const names = pupil.before.better === 'bend-short' ? ['bend', 'bend-short'] : [pupil.before.better];
      if (!names.some((name) => better[0] === name))
        faults.push(`better first: ${better.join(', ') || 'nothing'}`);
      for (const { of, measure, before, now, chance, verdict } of changes.slice(0, 4))
        process.stdout.write(
          `    ${verdict}: ${of}, ${measure}: ${before.toFixed(1)} to ${now.toFixed(1)}, by chance ${chance.toFixed(1)}\n`,
        );
    }
    if (faults.length === 0) agreed++;
    process.stdout.write(
      `${faults.length === 0 ? 'agrees' : 'DIFFERS'}  ${pupil.name}: ${faults.join('; ')}\n`,
    );
    for (const { message, practise, cost } of checked.advice)
      process.stdout.write(`    ${cost.toFixed(1)}  ${message}. ${practise}\n`);
    for (const remark of checked.remarks.slice(0, 2)) process.stdout.write(`    - ${remark}\n`);
  }
  process.stdout.write(`${agreed} of ${PUPILS.length} agree\n`);
}

/** Mistakes planted in sound, by how the student plays and is recorded. */
async function plantedMistakes(seed: number, students: number, wrong: boolean): Promise<void> {
  const rows = [
    ['planted in sound', 'planted', 'named', 'per cent', 'notes', 'false', 'in 100 notes', 'false by kind'],
  ];
  for (const situation of SITUATIONS) {
    const { planted, found, notes, falseKinds, log } = await tallySound(situation, students, seed);
    const falsely = [...falseKinds.values()].reduce((total, count) => total + count, 0);
    rows.push([
      situation.name,
      String(planted),
      String(found),
      ((100 * found) / planted).toFixed(1),
      String(notes),
      String(falsely),
      ((100 * falsely) / notes).toFixed(2),
      [...falseKinds].map(([kind, count]) => `${kind} ${count}`).join(', '),
    ]);
    if (wrong) for (const line of log) process.stderr.write(`${situation.name}, ${line}\n`);
  }
  process.stdout.write(`${textTable(rows)}\n`);
}

const { values: options, positionals } = parseArgs({
  options: {
    seed: { type: 'string' },
    students: { type: 'string', default: '24' },
    only: { type: 'string' },
    wrong: { type: 'boolean', default: false },
  },
  allowPositionals: true,
});
const seed = Number(options.seed ?? positionals[0] ?? 1);
if (options.only !== 'planted') await twelvePupils(seed);
if (options.only !== 'pupils') await plantedMistakes(seed, Number(options.students), options.wrong);
