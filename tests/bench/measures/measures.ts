import type { PlannedNote } from '../../../samples/synth/plan.ts';
import type { Degradation } from '../../../samples/synth/scene/roughen.ts';
import { CLEAN } from '../../../samples/synth/style.ts';
import { centsBetween } from '../../../src/units.ts';
import { tallyPlanted } from '../../check/planted.ts';
import { praatTable } from '../peers/praat.ts';
import { textTable } from '../scores/table.ts';
import { BENDS_MISSED, SITUATIONS, tallySound } from './planted-sound.ts';
import { playMany, quantile, still } from './trials.ts';

/*
 * What the measures of notes are worth: `npm run bench:measures`. Synthetic takes with known depth, scoop, drift,
 * vibrato and second reeds go through the whole product; Praat measures the same notes when it is installed.
 */

const one = (value: number): string => value.toFixed(2);

function errorRow(name: string, unit: string, errors: readonly number[]): string[] {
  const sizes = errors.map(Math.abs);
  return errors.length === 0
    ? [name, unit, '0', '-', '-', '-']
    : [
        name,
        unit,
        String(errors.length),
        one(quantile(errors, 0.5)),
        one(quantile(sizes, 0.5)),
        one(quantile(sizes, 0.9)),
      ];
}

/** Cents that a planned scoop is still below its note at a time (samples/synth/voice.ts). */
function leftOfScoop({ scoop, beginSec }: PlannedNote, sec: number): number {
  const share = Math.max(0, Math.min(1, (sec - beginSec) / scoop!.sec));
  return scoop!.cents * (1 - share * share * (3 - 2 * share));
}

/** Seconds from the onset until 15 cents are left. */
function timeOfScoop(planned: PlannedNote, onsetSec: number): number {
  let sec = onsetSec;
  while (leftOfScoop(planned, sec) > 15) sec += 0.001;
  return sec - onsetSec;
}

/** Errors of each measure over notes made with known values. */
async function measureTable(takes: number): Promise<string> {
  const rows: string[][] = [['measure', 'unit', 'notes', 'bias', 'median', '90 %']];
  const bends = await playMany({ ...still, bendErrorCents: [-60, 40] }, {}, takes, 0.6);
  const bent = bends.filter(({ truth }) => truth.bend > 0);
  rows.push(
    errorRow(
      'bend, -60 to +40 off',
      'cents',
      bent.map(({ truth, found }) => found.cents - truth.cents),
    ),
  );
  const drifting = await playMany({ ...still, driftCentsPerSec: [-12, 12] }, {}, takes);
  rows.push(
    errorRow(
      'drift, to 12 a second',
      'cents/s',
      drifting.flatMap(({ planned, found }) => {
        const long = found.offsetSec - found.onsetSec > 0.4;
        return long && found.intonation ? [found.intonation.driftCentsPerSec - planned.driftCentsPerSec] : [];
      }),
    ),
  );
  const scooped = await playMany({ ...still, scoopShare: 0.6, scoopCents: [40, 150] }, {}, takes);
  const scoops = scooped.filter(({ planned, found }) => planned.scoop !== null && found.intonation !== null);
  // By the time at which the note counts as begun, part of the scoop is over.
  rows.push(
    errorRow(
      'scoop, from 40 to 150',
      'cents',
      scoops.map(
        ({ planned, truth, found }) => found.intonation!.scoopCents + leftOfScoop(planned, truth.onsetSec),
      ),
    ),
  );
  rows.push(
    errorRow(
      'scoop, time to 15 cents',
      's',
      scoops.map(
        ({ planned, truth, found }) => found.intonation!.scoopSec - timeOfScoop(planned, truth.onsetSec),
      ),
    ),
  );
  rows.push(
    errorRow(
      'held pitch after a scoop',
      'cents',
      scoops.map(({ truth, found }) => centsBetween(found.f0Hz, truth.f0Hz)),
    ),
  );
  const waved = await playMany({ ...still, vibratoShare: 0.7, vibratoCents: [8, 50] }, {}, takes);
  const waves = waved.filter(
    ({ planned, found }) =>
      planned.vibrato !== null && found.offsetSec - found.onsetSec > 0.5 && found.intonation !== null,
  );
  const told = waves.filter(({ found }) => found.intonation!.vibratoHz !== undefined);
  rows.push(
    errorRow(
      'vibrato, rate',
      'Hz',
      told.map(({ planned, found }) => found.intonation!.vibratoHz! - planned.vibrato!.hz),
    ),
  );
  rows.push(
    errorRow(
      'vibrato, extent',
      'cents',
      told.map(({ planned, found }) => found.intonation!.vibratoCents! - planned.vibrato!.depth),
    ),
  );
  const straight = waved.filter(
    ({ planned, found }) => planned.vibrato === null && found.intonation !== null,
  );
  const wrongly = straight.filter(({ found }) => found.intonation!.vibratoHz !== undefined).length;
  const attacks = bends.filter(
    ({ planned, found }) => planned.start === 'silence' && found.tone?.attackSec != null,
  );
  rows.push(
    errorRow(
      'attack (planned: -40 to -3 dB)',
      's',
      attacks.map(({ planned, found }) => found.tone!.attackSec! - planned.attackSec),
    ),
  );
  return `${textTable(rows)}\nvibrato found in ${told.length} of ${waves.length} notes of 0.5 s or more that have it, and in ${wrongly} of ${straight.length} that have none`;
}

/** How often bends are called what they are by their own take, with A4 told and estimated from its plain notes. */
async function bendCalls(takes: number): Promise<string> {
  const rows: string[][] = [['bend is', 'A4', 'notes', 'called so', 'share', 'error: median', '90 %']];
  const call = (cents: number): string => (cents > 25 ? 'short' : cents < -25 ? 'too deep' : 'good');
  for (const told of [true, false]) {
    const style = { ...still, bendErrorCents: [-60, 40] as const };
    const trials = (await playMany(style, {}, takes, 0.6, told)).filter(
      ({ truth, found }) => truth.bend > 0 && found.intonation !== null,
    );
    for (const kind of ['short', 'good', 'too deep']) {
      const those = trials.filter(({ truth }) => call(truth.cents) === kind);
      const right = those.filter(({ found }) => call(found.cents) === kind).length;
      const errors = those.map(({ truth, found }) => Math.abs(found.cents - truth.cents));
      rows.push([
        kind,
        told ? 'told' : 'estimated',
        String(those.length),
        String(right),
        those.length === 0 ? '-' : (right / those.length).toFixed(3),
        one(quantile(errors, 0.5)),
        one(quantile(errors, 0.9)),
      ]);
    }
  }
  return textTable(rows);
}

const CONDITIONS: readonly (readonly [name: string, degradation: Degradation])[] = [
  ['clean', {}],
  ['noise, 20 dB', { snr: 20, noise: 'pink' }],
  ['room, 0.5 s', { rt60: 0.5, drr: 5 }],
  ['telephone', { phone: 'narrow' }],
  ['room, noise, phone', { rt60: 0.4, drr: 6, snr: 24, noise: 'pink', phone: 'wide' }],
];

/** Second reeds by condition: those from -20 dB on found, findings that are right, and the error of the level. */
async function leakTable(takes: number): Promise<string> {
  const rows: string[][] = [
    [
      'second reed',
      'from -20 dB',
      'found',
      'recall',
      'findings',
      'precision',
      'level dB: bias',
      'median',
      '90 %',
      'within 3 dB',
    ],
  ];
  const style = {
    ...CLEAN,
    leakShare: 0.35,
    leakDb: [-24, -8] as const,
    vibratoShare: 0.3,
    vibratoCents: [10, 40] as const,
  };
  for (const [name, degradation] of CONDITIONS) {
    const trials = await playMany(style, degradation, takes);
    const loud = trials.filter(({ truth }) => truth.leak !== null && truth.leak.dB >= -20);
    const right = trials.filter(
      ({ truth, found }) => found.leak !== null && truth.leak?.hole === found.leak.hole,
    );
    const findings = trials.filter(({ found }) => found.leak !== null).length;
    const found = loud.filter((trial) => right.includes(trial)).length;
    const errors = right.map(({ truth, found: { leak } }) => leak!.levelDb - truth.leak!.dB);
    rows.push([
      name,
      String(loud.length),
      String(found),
      (found / loud.length).toFixed(3),
      String(findings),
      (right.length / Math.max(1, findings)).toFixed(3),
      one(quantile(errors, 0.5)),
      one(quantile(errors.map(Math.abs), 0.5)),
      one(quantile(errors.map(Math.abs), 0.9)),
      (errors.filter((error) => Math.abs(error) <= 3).length / errors.length).toFixed(3),
    ]);
  }
  return textTable(rows);
}

/** Planted mistakes of students, note by note, by how unevenly they play. */
function plantedTable(rounds: number): string {
  const rows: string[][] = [['uneven by (s)', 'planted', 'found', 'share', 'false in 100 notes', 'by kind']];
  for (const spreadSec of [0.01, 0.02, 0.03, 0.04]) {
    const tally = tallyPlanted(rounds, spreadSec, 3);
    rows.push([
      String(spreadSec),
      String(tally.planted),
      String(tally.found),
      (tally.found / tally.planted).toFixed(3),
      one((100 * tally.falseFindings) / tally.notes),
      [...tally.byKind].map(([kind, { planted, found }]) => `${kind} ${found}/${planted}`).join(', '),
    ]);
  }
  return textTable(rows);
}

/** Planted by this seed the check was made; by that one nothing was ever tuned. */
const SEEDS = { tuning: 1, report: 2 } as const;

/** Mistakes planted in sound and bends missed in sound, by situation. */
async function soundTable(students: number): Promise<string> {
  const rows: string[][] = [
    ['planted in sound', 'seed', 'planted', 'found', 'share', 'false in 100 notes', 'false by kind'],
  ];
  for (const [name, seed] of Object.entries(SEEDS)) {
    for (const situation of SITUATIONS) {
      const { planted, found, notes, falseKinds } = await tallySound(situation, students, seed);
      rows.push([
        situation.name,
        name,
        String(planted),
        String(found),
        (found / planted).toFixed(3),
        one((100 * sum([...falseKinds.values()])) / notes),
        [...falseKinds].map(([kind, count]) => `${kind} ${count}`).join(', '),
      ]);
    }
  }
  return textTable(rows);
}

/** How bends are called when they are compared with the tune; A4 is estimated, cases within 5 cents are left out. */
async function bendCheckTable(students: number): Promise<string> {
  const rows: string[][] = [
    ['against the tune, A4 estimated', 'seed', 'bend is', 'notes', 'called so', 'share'],
  ];
  for (const [name, seed] of Object.entries(SEEDS)) {
    for (const situation of BENDS_MISSED) {
      const { bends } = await tallySound(situation, students, seed);
      for (const [kind, { are, called }] of [...bends].sort()) {
        rows.push([situation.name, name, kind, String(are), String(called), (called / are).toFixed(3)]);
      }
    }
  }
  return textTable(rows);
}

const sum = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0);

const takes = Number(process.argv[2] ?? 8);
const log = (text: string): void => void process.stdout.write(`${text}\n\n`);
log(await measureTable(takes));
log(await bendCalls(takes));
log(await leakTable(takes));
log((await praatTable(Math.ceil(takes / 2))) ?? 'Praat is not installed: no comparison');
log(plantedTable(120));
log(await soundTable(3 * takes));
log(await bendCheckTable(2 * takes));
