import { parseArrangeWeights } from '../../src/arrange/weights.ts';
import { parseCustomLayout } from '../../src/harp/layouts.ts';
import { playableNotes } from '../../src/harp/playable.ts';
import { parseTemperamentTable } from '../../src/harp/temperaments.ts';
import type { Melody } from '../../src/music/melody.ts';
import { readAbc } from '../../src/music/reading/abc/abc.ts';
import { readMidi } from '../../src/music/reading/midi.ts';
import { readMusicXml } from '../../src/music/reading/musicxml/musicxml.ts';
import { melodyFromTab } from '../../src/music/reading/tab.ts';
import { parseVerses } from '../../src/music/words/verses.ts';
import { parseTab } from '../../src/tab/text-file.ts';
import { openEdits } from '../../src/take/edits/edits.ts';
import { checksum, hashTake } from '../../src/take/files/journal.ts';
import { readJournal } from '../../src/take/files/recovery.ts';
import { formatTake } from '../../src/take/format.ts';
import { parseTake } from '../../src/take/parse.ts';
import type { Take } from '../../src/take/schema.ts';
import { HELP_ROWS } from '../../src/ui/keys.ts';
import { AUDIO } from './audio-target.ts';
import type { Chance } from './chance.ts';
import { mutateBytes, mutateJson, mutateText, mutateXml } from './mutate.ts';
import {
  ABC_SEED,
  EDITED_TAKE,
  JOURNAL_LINES,
  MIDI_SEEDS,
  MUSICXML_SEED,
  MXL_SEED,
  TAKE,
  TUNING,
  zipped,
} from './seeds.ts';
import { pressKeys, useMelody, useTake } from './use.ts';

/** A reader, inputs that are nearly right for it, and what it does with one. */
export interface Target {
  readonly kind: string;
  /** Of the name of an input in the corpus. */
  readonly extension: string;
  input(chance: Chance): Uint8Array;
  /**
   * @param thoroughly  also does with it what the commands do
   * @throws ReedtraceError when the input is refused; anything else is a fault
   */
  run(input: Uint8Array, thoroughly: boolean): unknown;
}

const bytesOf = (text: string): Uint8Array => new TextEncoder().encode(text);
const textOf = (bytes: Uint8Array): string => new TextDecoder().decode(bytes);
const PLAYABLE = playableNotes({ key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 });

function ofText(
  kind: string,
  extension: string,
  seeds: readonly string[],
  words: readonly string[],
  run: (text: string, thoroughly: boolean) => unknown,
): Target {
  return {
    kind,
    extension,
    input: (chance) => bytesOf(mutateText(chance.pick(seeds), words, chance)),
    run: (input, thoroughly) => run(textOf(input), thoroughly),
  };
}

function ofBytes(kind: string, extension: string, seeds: readonly Uint8Array[], run: Target['run']): Target {
  return { kind, extension, input: (chance) => mutateBytes(chance.pick(seeds), seeds, chance), run };
}

function ofJson(
  kind: string,
  seeds: readonly unknown[],
  run: (value: unknown, thoroughly: boolean) => unknown,
): Target {
  return {
    kind,
    extension: 'json',
    input: (chance) => bytesOf(JSON.stringify(mutateJson(chance.pick(seeds), chance))),
    run: (input, thoroughly) => run(JSON.parse(textOf(input)), thoroughly),
  };
}

const musical = (melody: Melody, thoroughly: boolean): void => {
  if (thoroughly) useMelody(melody);
};

const ABC_WORDS =
  '[ ] { } ( (3 (3:2:4 | |: :| || [1 [2 " ! + > < >> - ~ % \\ K: M: L: Q: V: w: T: X: [K:D] [M:6/8] A b c\' C,, ^^f __B =c z Z2 /2 3/2 99999999 \n w:_*|- transpose=99 octave=-9'.split(
    ' ',
  );
const TAB_WORDS =
  "4 -4 -3'' 6o 7b 10 11 -10o r r:1 :0.5 :1/0 :9e9 ~ | |: :| # [0:12] -- , ; 4B 4D 4↑ 4↓ \" ′ − \n".split(
    ' ',
  );
const LYRICS = [
  'la',
  'ri-ver',
  'o~ver',
  'end_',
  '___',
  '-',
  '~',
  '#',
  'Verse 2:',
  '[Chorus]',
  '1.',
  '(x2)',
  '\n\n',
  '\n',
  '日本',
  'e\u0301',
  'ß',
  "'",
  '’',
];
const XML_WORDS =
  '< > </ /> & &amp; &a; &#0; &#x10ffff; <!DOCTYPE <!ENTITY <![CDATA[ ]]> <!-- --> <?xml <note> </note> <chord/> <grace/> <backup> <forward> <duration> <tie type="stop"/> <octave> -1 0 1e9 99999999999 <measure> <divisions> <voice>2</voice>'.split(
    ' ',
  );

/** Keys as a terminal sends them, each character that does something, and a file of words pasted among them. */
const KEYS = [
  ...new Set(HELP_ROWS.flatMap(({ keys }) => keys).filter((key) => [...key].length === 1)),
  '\t',
  '\r',
  '\x13',
  '\x1a',
  '\x19',
  '\u001b',
  '\u001b[A',
  '\u001b[B',
  '\u001b[C',
  '\u001b[D',
  '\u001b[5~',
  '\u001b[200~la la\nlo\u001b[201~',
  'discard',
  '\x7f',
  'é',
];

/** Every reader. */
export const TARGETS: readonly Target[] = [
  ...AUDIO,
  ofJson('take', [TAKE, EDITED_TAKE], (value, thoroughly) => {
    const take = parseTake(JSON.stringify(value), 'fuzz');
    return thoroughly ? useTake(take) : take;
  }),
  ofText(
    'take text',
    'json',
    [formatTake(TAKE as Take)],
    ['{', '}', '[', ']', ',', ':', '"', '1e999', '-', 'null'],
    (text) => parseTake(text, 'fuzz'),
  ),
  {
    kind: 'journal',
    extension: 'journal',
    // Checksums are right, so that what is read is the line and not the sum.
    input: (chance) => {
      const [head, ...edits] = JOURNAL_LINES;
      const lines = chance.happens(0.3)
        ? [mutateJson(head, chance), ...edits]
        : [head, mutateJson(chance.pick(edits), chance)];
      const text = lines
        .map((line) => JSON.stringify(line))
        .map((json) => `${checksum(json)} ${json}\n`)
        .join('');
      return bytesOf(chance.happens(0.2) ? mutateText(text, ['\r\n', '\0', '{', ' '], chance) : text);
    },
    run: (input) => {
      const take = TAKE as Take;
      const recovery = readJournal(textOf(input), take, hashTake(formatTake(take)));
      if (recovery.kind === 'edits') openEdits(take);
    },
  },
  ofText(
    'tab',
    'txt',
    ["4 -4 5:0.5 -5:1/2 | 6o ~6o r:1\n-3'' -2 3\n", 'Title\n# words\n4B 4D | 5B\n'],
    TAB_WORDS,
    (text, thoroughly) => musical(melodyFromTab(parseTab(text), PLAYABLE, 'a C harp').melody, thoroughly),
  ),
  ofText(
    'words',
    'txt',
    ['Verse 1:\nOld Joe Clark, he had a house\nsix-teen sto-ries high_\n\nChorus\nFare_ thee well\n'],
    LYRICS,
    (text) => parseVerses(text, null),
  ),
  ofText('abc', 'abc', [ABC_SEED], ABC_WORDS, (text, thoroughly) =>
    musical(readAbc(bytesOf(text), 'fuzz.abc'), thoroughly),
  ),
  ofBytes('midi', 'mid', MIDI_SEEDS, (bytes, thoroughly) => musical(readMidi(bytes, 'fuzz.mid'), thoroughly)),
  ofText('musicxml', 'musicxml', [MUSICXML_SEED], XML_WORDS, (text, thoroughly) =>
    musical(readMusicXml(bytesOf(text), 'fuzz.xml'), thoroughly),
  ),
  {
    kind: 'musicxml elements',
    extension: 'musicxml',
    input: (chance) => bytesOf(mutateXml(MUSICXML_SEED, chance)),
    run: (input, thoroughly) => musical(readMusicXml(input, 'fuzz.xml'), thoroughly),
  },
  {
    kind: 'mxl',
    extension: 'mxl',
    input: (chance) =>
      chance.happens(0.6)
        ? zipped(mutateXml(MUSICXML_SEED, chance))
        : mutateBytes(MXL_SEED, [MXL_SEED], chance),
    run: (input, thoroughly) => musical(readMusicXml(input, 'fuzz.mxl'), thoroughly),
  },
  ofJson('tuning', [TUNING], (value) => {
    const layout = parseCustomLayout(value);
    return playableNotes({ key: 'C', tuning: layout.id, temperament: 'equal', a4Hz: 440 }, { layout });
  }),
  ofJson(
    'temperament',
    [{ name: 'mine', blow: new Array(10).fill(2), draw: new Array(10).fill(-3) }],
    parseTemperamentTable,
  ),
  ofJson('weights', [{ blowBend1: 1, overbend: 3, leapHole: 0.5 }], parseArrangeWeights),
  {
    kind: 'keys',
    extension: 'keys',
    input: (chance) =>
      bytesOf(Array.from({ length: 1 + chance.below(40) }, () => chance.pick(KEYS)).join('')),
    run: (input) => pressKeys(textOf(input)),
  },
];
