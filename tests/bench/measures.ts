import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { peakTo } from '../../samples/synth/degrade.ts';
import { type PlannedNote, planTake } from '../../samples/synth/plan.ts';
import { renderTake } from '../../samples/synth/render.ts';
import { seededRng } from '../../samples/synth/rng.ts';
import { type Degradation, roughened } from '../../samples/synth/roughen.ts';
import { CLEAN, type PlayingStyle } from '../../samples/synth/style.ts';
import { randomTimbre } from '../../samples/synth/timbre.ts';
import { type TruthNote, truthHarp, truthNotes } from '../../samples/synth/truth.ts';
import { parseTune } from '../../samples/synth/tune.ts';
import { walk } from '../../samples/synth/walk.ts';
import { encodeWav } from '../../samples/synth/wav.ts';
import { Samples } from '../../src/audio/samples.ts';
import { HARP_KEYS } from '../../src/harp/keys.ts';
import { playableNotes } from '../../src/harp/playable.ts';
import type { HarpSpec } from '../../src/harp/types.ts';
import { transcribe } from '../../src/pipeline.ts';
import type { Note } from '../../src/tab/note.ts';
import { centsBetween } from '../../src/units.ts';
import { tallyPlanted } from '../check/planted.ts';
import { quantile as quantileOf } from './measure.ts';
import { textTable } from './table.ts';

/*
 * What the measures of notes are worth: `npm run bench:measures`. Synthetic takes with known depth, scoop, drift,
 * vibrato and second reeds go through the whole product; Praat measures the same notes when it is installed.
 */

const RATE = 22_050;
const NOTES = 40;
const MATCH_SEC = 0.06;

/** NaN of nothing, so that it shows. */
const quantile = (values: readonly number[], share: number): number =>
  quantileOf(values, share) ?? Number.NaN;

/** A note as it was planned, as it sounded, and as it was measured. */
interface Trial {
  readonly planned: PlannedNote;
  readonly truth: TruthNote;
  readonly found: Note;
}

interface TrialTake {
  readonly trials: readonly Trial[];
  /** Notes found with another hole, or not at all. */
  readonly lost: number;
  readonly samples: Float32Array;
}

async function play(
  style: PlayingStyle,
  degradation: Degradation,
  seed: number,
  bendShare: number,
): Promise<TrialTake> {
  const rng = seededRng(seed);
  const harp: HarpSpec = {
    key: HARP_KEYS[seed % HARP_KEYS.length],
    tuning: 'richter',
    temperament: 'equal',
    a4Hz: 440,
  };
  const playable = playableNotes(harp);
  const tab = walk(
    playable,
    { notes: NOTES, beats: [1, 1, 2], bendShare, overShare: 0, repeatShare: 0.1, holes: [1, 10] },
    rng.fork('tune'),
  );
  const plan = planTake(parseTune(tab), playable, style, rng.fork('plan'));
  const rendered = renderTake(plan, randomTimbre(rng.fork('timbre')), RATE, rng.fork('render'));
  const notes = truthNotes(rendered, harp.a4Hz);
  const rough = roughened(
    {
      samples: rendered.samples,
      sampleRate: RATE,
      truth: {
        audio: '',
        harp: truthHarp(harp, playable),
        category: '',
        seed,
        tab,
        tempoBpm: style.tempoBpm,
        degradation: {},
        talkSec: [],
        notes,
      },
    },
    degradation,
    rng.fork('rough'),
  );
  const samples = peakTo(rough.samples, 0.6);
  const found = (
    await transcribe(Samples.from(samples, RATE), { harp: harp.key, a4Hz: 440, temperament: 'equal' })
  ).notes;
  const trials = notes.flatMap((truth, i): Trial[] => {
    const note = found.find(
      (candidate) =>
        Math.abs(candidate.onsetSec - truth.onsetSec) < MATCH_SEC &&
        candidate.hole === truth.hole &&
        candidate.breath === truth.breath &&
        candidate.bend === truth.bend,
    );
    return note === undefined ? [] : [{ planned: plan[i], truth, found: note }];
  });
  return { trials, lost: notes.length - trials.length, samples };
}

async function playMany(
  style: PlayingStyle,
  degradation: Degradation,
  takes: number,
  bendShare = 0.2,
): Promise<Trial[]> {
  const all: Trial[] = [];
  for (let seed = 0; seed < takes; seed++)
    all.push(...(await play(style, degradation, 100 + seed, bendShare)).trials);
  return all;
}

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

const still: PlayingStyle = {
  ...CLEAN,
  vibratoShare: 0,
  tremoloShare: 0,
  tempoBpm: 84,
  driftCentsPerSec: [0, 0],
  droopCents: [0, 5],
};

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

/** How often bends are called what they are. */
async function bendCalls(takes: number): Promise<string> {
  const trials = (await playMany({ ...still, bendErrorCents: [-60, 40] }, {}, takes, 0.6)).filter(
    ({ truth, found }) => truth.bend > 0 && found.intonation !== null,
  );
  const call = (cents: number): string => (cents > 25 ? 'short' : cents < -25 ? 'too deep' : 'good');
  const rows = ['short', 'good', 'too deep'].map((kind) => {
    const those = trials.filter(({ truth }) => call(truth.cents) === kind);
    const right = those.filter(({ found }) => call(found.cents) === kind).length;
    return [
      kind,
      String(those.length),
      String(right),
      those.length === 0 ? '-' : (right / those.length).toFixed(3),
    ];
  });
  return textTable([['bend is', 'notes', 'called so', 'share'], ...rows]);
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
    ]);
  }
  return textTable(rows);
}

const PRAAT_SCRIPT = `form Measure
  sentence Sound
  sentence Times
endform
Read from file: sound$
sound = selected ("Sound")
To Pitch (cc): 0.01, 120, 15, "no", 0.03, 0.45, 0.01, 0.35, 0.14, 3500
pitch = selected ("Pitch")
selectObject: sound
To Harmonicity (cc): 0.01, 120, 0.1, 4.5
harmonicity = selected ("Harmonicity")
Read Strings from raw text file: times$
n = Get number of strings
strings = selected ("Strings")
for i to n
  selectObject: strings
  line$ = Get string: i
  begin = number (extractWord$ (line$, ""))
  end = number (extractWord$ (line$, " "))
  selectObject: pitch
  f0 = Get mean: begin, end, "Hertz"
  selectObject: harmonicity
  hnr = Get mean: begin, end
  appendInfoLine: f0, " ", hnr
endfor
`;

/** Praat's pitch and harmonicity (Boersma, IFA Proc. 17, 97-110, 1993) on the same held parts; null without Praat. */
async function praatTable(takes: number): Promise<string | null> {
  try {
    execFileSync('praat', ['--version'], { stdio: 'ignore' });
  } catch {
    return null;
  }
  const folder = mkdtempSync(join(tmpdir(), 'reedtrace-praat-'));
  const ours: number[] = [];
  const theirs: number[] = [];
  const pairs: [number, number][] = [];
  try {
    writeFileSync(join(folder, 'measure.praat'), PRAAT_SCRIPT);
    for (let seed = 0; seed < takes; seed++) {
      const style = { ...still, bendErrorCents: [-60, 40] as const, breathNoiseDb: [-45, -15] as const };
      const { trials, samples } = await play(style, {}, 300 + seed, 0.4);
      writeFileSync(join(folder, 'take.wav'), encodeWav([samples], RATE));
      writeFileSync(
        join(folder, 'times.txt'),
        `${trials.map(({ truth }) => truth.sustainSec.join(' ')).join('\n')}\n`,
      );
      const text = execFileSync(
        'praat',
        ['--run', join(folder, 'measure.praat'), join(folder, 'take.wav'), join(folder, 'times.txt')],
        { encoding: 'utf8' },
      );
      text
        .trim()
        .split('\n')
        .forEach((line, i) => {
          const [f0Hz, hnrDb] = line.split(' ').map(Number);
          const { truth, found } = trials[i];
          if (!(f0Hz > 0)) return;
          theirs.push(Math.abs(centsBetween(f0Hz, truth.f0Hz)));
          ours.push(Math.abs(centsBetween(found.f0Hz, truth.f0Hz)));
          if (Number.isFinite(hnrDb)) pairs.push([found.harmonicityDb, hnrDb]);
        });
    }
  } finally {
    rmSync(folder, { recursive: true });
  }
  const rows = [
    ['held pitch, error in cents', 'notes', 'median', '90 %', '99 %'],
    ...(
      [
        ['reedtrace', ours],
        ['Praat', theirs],
      ] as const
    ).map(([name, errors]) => [
      name,
      String(errors.length),
      one(quantile(errors, 0.5)),
      one(quantile(errors, 0.9)),
      one(quantile(errors, 0.99)),
    ]),
  ];
  return `${textTable(rows)}\nharmonicity: rank correlation with Praat's ${one(rankCorrelation(pairs))} over ${pairs.length} notes`;
}

/** Spearman's. */
function rankCorrelation(pairs: readonly (readonly [number, number])[]): number {
  const ranks = (values: readonly number[]): number[] => {
    const order = values.map((value, i) => [value, i] as const).sort((a, b) => a[0] - b[0]);
    const rank = new Array<number>(values.length);
    order.forEach(([, i], place) => {
      rank[i] = place;
    });
    return rank;
  };
  const a = ranks(pairs.map(([x]) => x));
  const b = ranks(pairs.map(([, y]) => y));
  const n = pairs.length;
  return 1 - (6 * a.reduce((sum, rank, i) => sum + (rank - b[i]) ** 2, 0)) / (n * (n * n - 1));
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

const takes = Number(process.argv[2] ?? 8);
const log = (text: string): void => void process.stdout.write(`${text}\n\n`);
log(await measureTable(takes));
log(await bendCalls(takes));
log(await leakTable(takes));
log((await praatTable(Math.ceil(takes / 2))) ?? 'Praat is not installed: no comparison');
log(plantedTable(120));
