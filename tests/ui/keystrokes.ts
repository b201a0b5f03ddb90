/**
 * How many keystrokes thirteen planted mistakes take, none of them in doubt, with moves and saving: `npx tsx
 * tests/ui/keystrokes.ts` prints the table, and fails where the take is not what was played after that. The keys go to the
 * state of the screen, which hears the recording as it does in a terminal; `tasks.test.ts` presses the same keys there.
 */
import { Samples } from '../../src/audio/samples.ts';
import { soundTab } from '../../src/sound/tab-sound.ts';
import { formatTabNote } from '../../src/tab/text.ts';
import { buildTake } from '../../src/take/take.ts';
import { reduce } from '../../src/ui/commands/reduce.ts';
import { hear } from '../../src/ui/state/hearing.ts';
import { openState, type UiState } from '../../src/ui/state/state.ts';
import { messageView } from '../../src/ui/view/frame.ts';
import { EXAMPLE_SOURCE } from '../take/example.ts';
import { HARP } from './example-take.ts';
import { CURES, joinedPhrases, PHRASE_STARTS, PLAYED, withHiddenMistakes } from './mistakes.ts';

const RATE = 22_050;
/** What the keys of a terminal are called here. */
const NAMES: Readonly<Record<string, string>> = {
  Tab: 'tab',
  Space: ' ',
  Left: 'left',
  Right: 'right',
  'C-s': 'ctrl-s',
};

const durationSec = (PLAYED.at(-1)?.offsetSec ?? 0) + 0.5;
const samples = Samples.from(soundTab(PLAYED, 0, durationSec, RATE), RATE);
const notes = withHiddenMistakes();
const harp = { ...HARP, confidence: 1, alternatives: [] };
const take = buildTake({ ...EXAMPLE_SOURCE, durationSec }, { harp, notes, phrases: joinedPhrases(notes) });
const hearing = await hear(samples, () => {});
let state: UiState = { ...openState('tune.take.json', take, {}, false), hearing, recording: 'ready' };

let total = 0;
for (const { planted, says, keys } of CURES) {
  let shown = '';
  for (const key of keys) {
    state = reduce(state, { kind: 'key', key: NAMES[key] ?? key, at: '2026-11-25T12:00:00.000Z' }).state;
    const said = messageView(state, 1000)
      .flat()
      .map(({ text }) => text)
      .join('');
    if (said.includes(says)) shown = said;
  }
  total += keys.length;
  process.stdout.write(`${String(keys.length).padStart(2)}  ${keys.join(' ').padEnd(20)} ${planted}\n`);
  if (shown === '') {
    process.stdout.write(`    the screen did not say '${says}'\n`);
    process.exitCode = 1;
  } else process.stdout.write(`    ${shown}\n`);
}
process.stdout.write(`${total} keystrokes for thirteen mistakes, moves and saving included\n`);

const { take: after } = state.edited;
const tabs = (played: readonly Parameters<typeof formatTabNote>[0][]) =>
  played.map((note) => formatTabNote(note)).join(' ');
const isRight =
  tabs(after.notes) === tabs(PLAYED) &&
  after.phrases.map(({ firstNote }) => firstNote).join() === PHRASE_STARTS.join();
process.stdout.write(
  isRight ? 'the take is what was played\n' : `not what was played:\n${tabs(after.notes)}\n${tabs(PLAYED)}\n`,
);
if (!isRight) process.exitCode = 1;
