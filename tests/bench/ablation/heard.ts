import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { readRecording } from '../../../src/audio/read.ts';
import type { Transcription, transcribe } from '../../../src/pipeline.ts';
import type { Note } from '../../../src/tab/note.ts';
import type { buildTake } from '../../../src/take/take.ts';
import { addTallies, scoreOf, tallyNotes, tallyTab } from '../scores/metrics.ts';
import { loadTakes } from '../sets/takes.ts';
import { inShort, type Yardstick } from './yardstick.ts';

/**
 * Labelled takes transcribed and put into bars, nothing given: note F1 and tab F1, and each note with its place in the bar.
 * @param dist  the built modules
 * @param first how many takes of the set to use
 */
export async function heardTakes(dist: string, set: string, first: number): Promise<Yardstick> {
  const [pipeline, take] = [join(dist, 'pipeline.js'), join(dist, 'take/take.js')];
  const takes = loadTakes(set).slice(0, first);
  const { readRecording: read } = (await import(pathToFileURL(join(dist, 'audio/read.js')).href)) as {
    readRecording: typeof readRecording;
  };
  const recordings = await Promise.all(
    takes.map(async (each) => ({ take: each, ...(await read(each.path)) })),
  );
  let usual: (Transcription | null)[] | null = null;

  return {
    of: `${takes.length} takes`,
    entries: [pipeline, take],
    scores: ['note F1', 'tab F1'],
    async measure(load, reaches) {
      const { transcribe: hear } = await load<{ transcribe: typeof transcribe }>(pipeline);
      const { buildTake: build } = await load<{ buildTake: typeof buildTake }>(take);
      // A change that can't affect hearing finds the same notes.
      const found =
        usual !== null && !reaches(pipeline)
          ? usual
          : await Promise.all(recordings.map(({ samples }) => hear(samples, {}).catch(() => null)));
      usual ??= found;
      const made = found.map((each, i) => (each === null ? null : build(recordings[i].source, each)));
      const notes = made.map((each): readonly Note[] => each?.notes ?? []);
      const tallies = takes.map((each, i) => ({
        note: tallyNotes(each.notes, notes[i]),
        tab: tallyTab(each.notes, notes[i]),
      }));
      return {
        scores: [
          scoreOf(addTallies(tallies.map(({ note }) => note))).f1,
          scoreOf(addTallies(tallies.map(({ tab }) => tab))).f1,
        ],
        told: notes.map((each, t) => each.map((note, i) => inShort([note, made[t]?.beats.notes?.[i]]))),
      };
    },
  };
}
