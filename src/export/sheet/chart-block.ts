import { chartRows } from '../../harp/chart.ts';
import { HOLES } from '../../harp/layouts.ts';
import { noteName } from '../../harp/names.ts';
import { soundingNotes } from '../../harp/playable.ts';
import type { PlayableNote } from '../../harp/types.ts';
import { sameTab } from '../../tab/tab-note.ts';
import type { Score } from '../score.ts';
import type { Block } from './block.ts';
import type { Mark } from './marks.ts';
import { line } from './text-blocks.ts';

const CELL = { width: 38, height: 16 };
const LABEL = 52;
const SIZE = 9;
const USED = '#dbe7f3';

/** The harp with the notes of the tune, and only the rows of bends and overbends that it needs. */
export function chartBlock(score: Score): Block | null {
  const sounding = score.notes.flatMap(({ played }) => soundingNotes(score.harp, played));
  const used = (note: PlayableNote | undefined): boolean =>
    note !== undefined && sounding.some((each) => sameTab(each, note));
  const rows = chartRows(score.harp).filter(
    ({ kind, cells }) => kind === 'hole' || kind === 'reed' || cells.some(used),
  );
  if (score.harp.length === 0) return null;
  const marks: Mark[] = [];
  for (const [r, { kind, label, cells }] of rows.entries()) {
    const y = r * CELL.height;
    marks.push(line(label, 0, y + 3, SIZE, { colour: '#444444' }));
    for (let hole = 0; hole < HOLES; hole++) {
      const x = LABEL + hole * CELL.width;
      const note = cells[hole];
      const plays = used(note);
      if (kind === 'hole') {
        marks.push({
          kind: 'rect',
          x: x + 1,
          y: y + 1,
          width: CELL.width - 2,
          height: CELL.height - 2,
          fill: '#333333',
        });
        marks.push(
          line(String(hole + 1), x + CELL.width / 2, y + 2.5, SIZE, {
            bold: true,
            anchor: 'middle',
            colour: '#ffffff',
          }),
        );
        continue;
      }
      if (note === undefined || (kind !== 'reed' && !plays)) continue;
      marks.push({
        kind: 'rect',
        x: x + 1,
        y: y + 1,
        width: CELL.width - 2,
        height: CELL.height - 2,
        radius: 2,
        fill: plays ? USED : '#ffffff',
        stroke: plays ? '#333333' : '#bbbbbb',
      });
      const name = noteName(note.midi, score.tonic).replace(/\d+$/, '');
      marks.push(
        line(name, x + CELL.width / 2, y + 2.5, SIZE, {
          bold: plays,
          anchor: 'middle',
          colour: plays ? '#000000' : '#666666',
        }),
      );
    }
  }
  return { height: rows.length * CELL.height, marks, gap: 6 };
}
