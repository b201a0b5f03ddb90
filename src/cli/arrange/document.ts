import { chordsOf, type LaidChord } from '../../arrange/chords.ts';
import { hardestNotes, missingNotes, placeInWords } from '../../arrange/explain.ts';
import { changedNotes } from '../../arrange/learning.ts';
import { shortListOf } from '../../arrange/short-list.ts';
import type { ArrangedTune } from '../../arrange/tablature.ts';
import type { Tune } from '../../arrange/tune.ts';
import { chartRows } from '../../harp/chart.ts';
import { chartSvg } from '../../harp/chart-svg.ts';
import { KEY_NAMES, printedLabel } from '../../harp/keys.ts';
import { noteName } from '../../harp/names.ts';
import { playableNotes } from '../../harp/playable.ts';
import { positionName } from '../../harp/positions.ts';
import { formatTabNote } from '../../tab/text.ts';
import { ISO_A4_HZ } from '../../units.ts';
import { type ArrangeSource, bendCount, HARD_NOTES, harpInWords, partSums } from './print.ts';

/** The chart of the best harp, showing how often each of its notes is used. */
export function arrangeSvg({ tune, arrangement, name }: ArrangeSource): string {
  const [best] = arrangement.candidates;
  const { layout, harp, position, laid } = best;
  const tonic = (((tune.tonic + best.transposeSemitones) % 12) + 12) % 12;
  const notes = playableNotes({ ...harp, temperament: 'equal', a4Hz: ISO_A4_HZ }, { layout });
  return chartSvg(chartRows(notes), {
    title: `${name}: ${harpInWords(harp.key, layout)}, ${positionName(position)}`,
    show: ({ midi }) => noteName(midi, tonic),
    uses: (note) =>
      laid.choices.filter(
        (choice) =>
          choice?.note.hole === note.hole &&
          choice.note.breath === note.breath &&
          choice.note.bend === note.bend &&
          choice.note.over === note.over,
      ).length,
  });
}

/** The `arrange` document. */
export function arrangeJson(source: ArrangeSource): string {
  const { tune, arrangement, played } = source;
  const document = {
    format: 'reedtrace-arrange',
    version: 1,
    tune: {
      name: source.name,
      notes: tune.notes.length,
      tonic: KEY_NAMES[tune.tonic],
      tonicGuessed: tune.tonicGuessed,
      tempoAssumed: tune.tempoAssumed,
    },
    played:
      arrangement.played && played
        ? {
            harp: { key: played.harp.key, tuning: played.layout.id },
            ...laidJson(source, arrangement.played),
          }
        : null,
    shortList: played ? shortListOf(arrangement, played) : [],
    candidates: arrangement.candidates.slice(0, source.limit).map((candidate) => ({
      harp: { ...candidate.harp, printed: printedLabel(candidate.harp.key, candidate.layout) },
      position: candidate.position,
      transposeSemitones: candidate.transposeSemitones,
      octaveShift: candidate.octaveShift,
      ...laidJson(source, candidate.laid, chordsOf(source.tune, candidate)),
      cost: rounded(candidate.cost),
      learning: rounded(candidate.learning),
      ...(played ? { moved: changedNotes(candidate.laid, played.tab) } : {}),
    })),
  };
  return `${JSON.stringify(document, null, 2)}\n`;
}

function laidJson(
  { tune, style }: ArrangeSource,
  laid: ArrangedTune,
  chords: readonly (LaidChord | null)[] = [],
) {
  return {
    cost: rounded(laid.cost),
    costParts: Object.fromEntries(partSums(laid).map(([name, points]) => [name, rounded(points)])),
    bends: bendCount(laid),
    overbends: laid.choices.filter((choice) => choice?.note.over).length,
    hardest: hardestNotes(tune, laid, HARD_NOTES),
    unplayable: missingNotes(laid).map((noteIndex) => ({
      noteIndex,
      name: noteName(tune.notes[noteIndex].midi, tune.tonic),
      where: placeInWords(tune, noteIndex),
    })),
    tab: laid.choices.map((choice, i) =>
      choice === null
        ? null
        : {
            hole: choice.note.hole,
            breath: choice.note.breath,
            bend: choice.note.bend,
            over: choice.note.over,
            ...chordJson(tune, chords[i] ?? null),
            text: formatTabNote(chords[i]?.tab ?? choice.note, style),
          },
    ),
  };
}

/** The holes of a chord, and the names of its notes that can't be sounded there. */
function chordJson({ tonic }: Tune, chord: LaidChord | null) {
  if (chord === null) return {};
  return {
    holes: chord.tab.holes ?? [chord.tab.hole],
    lost: chord.lost.map((midi) => noteName(midi, tonic)),
  };
}

function rounded(points: number): number {
  return Number(points.toFixed(4));
}
