import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { readRecording } from '../../../src/audio/read.ts';
import type { findHeld } from '../../../src/measure/held.ts';
import type { BandMeter } from '../../../src/measure/ornaments/bands.ts';
import type { findOrnaments, LEAST_WAVES_SEC } from '../../../src/measure/ornaments/ornaments.ts';
import type { withTail } from '../../../src/measure/ornaments/tail.ts';
import type { hearPlaying } from '../../../src/pipeline.ts';
import { withOrnaments } from '../ornaments/render.ts';
import { addOrnaments, PLANTED_KINDS, scoreOrnaments } from '../ornaments/score.ts';
import { ORNAMENT_SEEDS } from '../ornaments/takes.ts';
import { inShort, type Yardstick } from './yardstick.ts';

/**
 * Takes with planted ornaments, heard once with the harp given; each change then only measures the ornaments of their notes
 * again. Scores: recall and precision over all kinds of ornament.
 * @param rounds  takes in each of four conditions
 */
export async function ornamentedNotes(dist: string, rounds: number): Promise<Yardstick> {
  const at = (name: string): string => join(dist, name);
  const direct = <Module>(name: string): Promise<Module> => import(pathToFileURL(at(name)).href);
  const { readRecording: read } = await direct<{ readRecording: typeof readRecording }>('audio/read.js');
  const { hearPlaying: hear } = await direct<{ hearPlaying: typeof hearPlaying }>('pipeline.js');
  const { FinePitchMeter } = await direct<typeof import('../../../src/analysis/pitch/fine-pitch.ts')>(
    'analysis/pitch/fine-pitch.js',
  );
  const modules = ['held', 'ornaments/ornaments', 'ornaments/bands', 'ornaments/tail'];
  const [held, ornaments, bands, tail] = modules.map((name) => at(`measure/${name}.js`));
  const takes = await withOrnaments(ORNAMENT_SEEDS.develop, rounds, (rendered) =>
    Promise.all(
      rendered.map(async ({ path, harp: { key, ...named }, notes }) => {
        const { samples } = await read(path);
        const { events } = await hear(samples, { ...named, harp: key });
        return { samples, events, notes };
      }),
    ),
  );
  return {
    of: `${takes.length} takes`,
    entries: [held, ornaments, bands, tail],
    scores: ['recall', 'precision'],
    async measure(load) {
      const { findHeld: heldOf } = await load<{ findHeld: typeof findHeld }>(held);
      const { findOrnaments: find, LEAST_WAVES_SEC: least } = await load<{
        findOrnaments: typeof findOrnaments;
        LEAST_WAVES_SEC: typeof LEAST_WAVES_SEC;
      }>(ornaments);
      const { BandMeter: Bands } = await load<{ BandMeter: typeof BandMeter }>(bands);
      const { withTail: followed } = await load<{ withTail: typeof withTail }>(tail);
      const heard = takes.map(({ samples, events }) => {
        const levels = new Bands(samples);
        const meter = new FinePitchMeter(samples);
        return events.map((event, i) => {
          const pitch = heldOf(event);
          const { onsetSec, offsetSec } = event;
          const isShort = offsetSec - onsetSec < least;
          const found = find(
            event,
            events[i + 1],
            pitch,
            isShort || event.set !== undefined ? null : levels.measure(event),
            pitch === null ? undefined : followed(meter, event, events[i + 1], pitch.midi),
          );
          return { onsetSec, offsetSec, hole: 1, breath: 'blow' as const, ornaments: found };
        });
      });
      const { kinds } = addOrnaments(takes.map(({ notes }, t) => scoreOrnaments(notes, heard[t])));
      const sum = (of: 'planted' | 'found' | 'wrong'): number =>
        PLANTED_KINDS.reduce((all, kind) => all + kinds[kind][of], 0);
      const found = sum('found');
      return {
        scores: [found / sum('planted'), found / (found + sum('wrong'))],
        told: heard.map((notes) => notes.map(inShort)),
      };
    },
  };
}
