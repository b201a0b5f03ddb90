/** What each kind of evidence for a hole is worth: tab F1 with it and without. Arguments: folders of labelled takes. */
import type { SoundEvent } from '../../../src/analysis/notes/events.ts';
import { joinFragments } from '../../../src/analysis/playing/fragments.ts';
import { playedProbabilities } from '../../../src/analysis/playing/played.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import { HOLE_COSTS, type HoleCosts, readHoles } from '../../../src/holes/holes.ts';
import { hearEvents } from '../hear.ts';
import { addTallies, scoreOf, tallyTab } from '../scores/metrics.ts';
import { textTable } from '../scores/table.ts';
import { type LabelledTake, loadTakes } from '../sets/takes.ts';

/** Evidence that can be switched off by taking its cost away. */
const SWITCHES: readonly { readonly name: string; readonly costs: Partial<HoleCosts> }[] = [
  { name: 'bends are rarer than plain notes', costs: { bend: 0 } },
  { name: 'overbends are rarer still', costs: { over: 0 } },
  { name: 'far holes are reached less often', costs: { distance: 0, slurOverHoles: 0 } },
  { name: 'a change of breath leaves a gap', costs: { breathWithoutGap: 0, gapWithoutBreath: 0 } },
  { name: 'only a bend glides', costs: { glideElsewhere: 0 } },
  { name: 'a repeat is the same reed', costs: { rearticulationElsewhere: 0 } },
  { name: 'notes of one pitch that sound unlike are of two reeds', costs: { otherSound: 0 } },
];

const heard: { take: LabelledTake; events: SoundEvent[] }[] = [];
for (const folder of process.argv.slice(2)) {
  for (const take of loadTakes(folder)) {
    const { whole: events } = joinFragments(await hearEvents(take));
    const played = playedProbabilities(events);
    heard.push({ take, events: events.filter((_, i) => played[i] > 0.5) });
  }
}

function tabF1(costs: HoleCosts): number {
  const tallies = heard.map(({ take, events }) => {
    const readings = readHoles(events, playableNotes(take.harp), costs);
    const notes = events.map((event, i) => ({ ...event, ...readings[i][0].note, f0Hz: event.f0Hz }));
    return tallyTab(take.notes, notes);
  });
  return scoreOf(addTallies(tallies)).f1;
}

const whole = tabF1(HOLE_COSTS);
const rows = SWITCHES.map(({ name, costs }) => {
  const without = tabF1({ ...HOLE_COSTS, ...costs });
  return [name, without.toFixed(4), (whole - without).toFixed(4)];
});
console.log(textTable([['evidence', 'tab F1 without', 'worth'], ['(all)', whole.toFixed(4), ''], ...rows]));
