import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { readRecording } from '../../../src/audio/read.ts';
import { quantile } from '../../../src/statistics.ts';
import { textTable } from '../scores/table.ts';
import { loadTakes } from '../sets/takes.ts';
import { joinTraits, type KnownNote, type Traits, traitsOf } from './playing-traits.ts';
import { clipsIn, loadRealLabels } from './real-labels.ts';

/*
 * How playing that was recorded differs from playing that was rendered, in one table:
 * npx tsx tests/bench/real/real-differs.ts --real FOLDER… --rendered FOLDER… [--all]
 * Of the recordings those to develop on; with --all the other half, too, which nothing must be tuned on.
 */

const { values } = parseArgs({
  options: {
    real: { type: 'string', multiple: true, default: [] },
    rendered: { type: 'string', multiple: true, default: [] },
    all: { type: 'boolean', default: false },
  },
});

/** A column of the table: recordings with their notes. */
interface Source {
  readonly name: string;
  readonly takes: readonly { readonly path: string; readonly notes: readonly KnownNote[] }[];
}

const LABELS = fileURLToPath(new URL('../../real', import.meta.url));
const real: Source = {
  name: 'recorded',
  takes: clipsIn(values.real, loadRealLabels(LABELS))
    .filter(({ label }) => values.all || label.use === 'develop')
    .map(({ label, path }) => ({
      path,
      notes: label.notes
        .filter(({ sure }) => sure)
        .map((note) => ({ ...note, alone: note.kind === 'single' })),
    })),
};
const rendered: Source[] = values.rendered.map((folder) => ({
  name: folder,
  takes: loadTakes(folder).map(({ path, notes }) => ({
    path,
    notes: notes.map((note) => ({ ...note, alone: note.leak === null, sure: true })),
  })),
}));
const sources = [real, ...rendered].filter(({ takes }) => takes.length > 0);
if (sources.length === 0) {
  console.error(
    'usage: real-differs.ts --real FOLDER… --rendered FOLDER… [--all]: no labelled recordings there',
  );
  process.exitCode = 2;
} else {
  const columns: { name: string; takes: number; notes: number; traits: Traits }[] = [];
  for (const { name, takes } of sources) {
    const parts: Traits[] = [];
    for (const { path, notes } of takes) {
      if (notes.length === 0) continue;
      const { samples } = await readRecording(path);
      const sound = new Float32Array(samples.length);
      samples.read(0, sound);
      parts.push(traitsOf(sound, samples.sampleRate, notes));
    }
    columns.push({
      name,
      takes: takes.length,
      notes: takes.reduce((sum, take) => sum + take.notes.filter(({ sure }) => sure).length, 0),
      traits: joinTraits(parts),
    });
  }
  console.log('10th, 50th and 90th percentile; in brackets how many were measured\n');
  console.log(
    textTable([
      ['', ...columns.map(({ name }) => name)],
      ['recordings, notes', ...columns.map(({ takes, notes }) => `${takes}, ${notes}`)],
      ...[1, 2, 3, 4, 5, 6].map((partial) => [
        `strongest partial is the ${partial}.`,
        ...columns.map(({ traits }) => share(traits.strongest, (one) => one === partial)),
      ]),
      ...[1, 2, 3, 4, 5, 6].map((partial) => [
        `level of partial ${partial} over the mean of six, dB`,
        ...columns.map(({ traits }) => spread(traits.partialDb.map((levels) => levels[partial - 1]))),
      ]),
      row('ripple of held notes, dB', ({ rippleDb }) => rippleDb),
      row('its rate (2 dB and more), Hz', ({ rippleHz }) => rippleHz),
      row('dip at a repeat, dB', ({ repeatDipDb }) => repeatDipDb),
      row('its length at half depth, ms', ({ repeatDipSec }) => repeatDipSec.map(ms)),
      row('dip at a change of pitch, dB', ({ changeDipDb }) => changeDipDb),
      row('its length at half depth, ms', ({ changeDipSec }) => changeDipSec.map(ms)),
      row('attack, -20 to -3 dB, ms', ({ attackSec }) => attackSec.map(ms)),
      row('decay, -3 to -20 dB, ms', ({ decaySec }) => decaySec.map(ms)),
      row('first 50 ms from the held pitch, cents', ({ slideCents }) => slideCents),
      row('noise floor below the playing, dB', ({ floorDb }) => floorDb),
      row('gap between notes, ms', ({ gapSec }) => gapSec.map(ms)),
      row('notes a second', ({ rate }) => rate),
      row('tuning from the middle of the take, cents', ({ tuningCents }) => tuningCents),
    ]),
  );

  function row(name: string, of: (traits: Traits) => readonly number[]): string[] {
    return [name, ...columns.map(({ traits }) => spread(of(traits)))];
  }
}

function spread(measured: readonly number[]): string {
  if (measured.length === 0) return '-';
  const [low, middle, high] = [0.1, 0.5, 0.9].map((at) => quantile(measured, at));
  const digits = Math.abs(high) < 10 && Math.abs(low) < 10 ? 1 : 0;
  return `${low.toFixed(digits)} ${middle.toFixed(digits)} ${high.toFixed(digits)} (${measured.length})`;
}

function share(measured: readonly number[], fits: (one: number) => boolean): string {
  if (measured.length === 0) return '-';
  return `${Math.round((100 * measured.filter(fits).length) / measured.length)} %`;
}

function ms(sec: number): number {
  return 1000 * sec;
}
