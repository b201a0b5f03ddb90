import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { encodeWav } from '../../../samples/synth/wav.ts';
import { centsBetween } from '../../../src/units.ts';
import { RATE } from '../measures/planned-sound.ts';
import { play, quantile, still } from '../measures/trials.ts';
import { textTable } from '../scores/table.ts';

const one = (value: number): string => value.toFixed(2);

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
export async function praatTable(takes: number): Promise<string | null> {
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
