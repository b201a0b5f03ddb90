import { basename, extname } from 'node:path';
import type { PlayedOn } from '../../arrange/arrange.ts';
import { ReedtraceError } from '../../errors.ts';
import { readInput } from '../../files/read-input.ts';
import { parseHarpKey } from '../../harp/keys.ts';
import { type Layout, layoutById } from '../../harp/layouts.ts';
import { layoutOf, playableNotes } from '../../harp/playable.ts';
import { LIMITS, tooLarge } from '../../limits.ts';
import type { Melody } from '../../music/melody.ts';
import { readAbc } from '../../music/reading/abc/abc.ts';
import { checkedMelody } from '../../music/reading/check-melody.ts';
import { readMidi } from '../../music/reading/midi.ts';
import { readMusicXml } from '../../music/reading/musicxml/musicxml.ts';
import { melodyFromTab, type TabMelody } from '../../music/reading/tab.ts';
import { melodyFromTake } from '../../music/reading/take.ts';
import type { TuneChoice } from '../../music/reading/which-part.ts';
import type { TabStyle } from '../../tab/text.ts';
import { parseTab } from '../../tab/text-file.ts';
import { parseTake } from '../../take/parse.ts';
import { withArticle } from '../../text/article.ts';
import { decodeText } from '../../text/decode-text.ts';
import { ISO_A4_HZ } from '../../units.ts';
import type { NamedHarp } from '../options/harp.ts';
import type { Io } from '../terminal/io.ts';

/** A tune from a file, and how it is played today if the file shows that. */
export interface TuneFile {
  readonly name: string;
  readonly melody: Melody;
  readonly played?: PlayedOn;
}

type Kind = 'take' | 'tab' | 'musicxml' | 'midi' | 'abc';

/**
 * Reads a take, a plain tab file, MusicXML (plain or .mxl), MIDI or ABC, recognised by content.
 * @param path  `-` reads standard input
 * @param harp for a tab file, which names none; `custom` also replaces the tuning of a take
 * @param choice  which tune and part of a music file that holds several
 * @throws ReedtraceError E_NOT_FOUND, E_NOT_A_FILE, E_USAGE, E_TAB_INVALID, E_TAKE_INVALID, E_MUSIC_INVALID, …
 */
export async function readTuneFile(
  path: string,
  harp: NamedHarp,
  style: TabStyle,
  stdin: Io['stdin'],
  choice: TuneChoice = {},
): Promise<TuneFile> {
  const bytes = path === '-' ? await readAll(stdin) : await readBytes(path);
  const name = path === '-' ? 'standard input' : basename(path);
  switch (kindOf(bytes, path)) {
    case 'midi':
      return { name, melody: readMidi(bytes, name, choice) };
    case 'musicxml':
      return { name, melody: readMusicXml(bytes, name, choice) };
    case 'abc':
      return { name, melody: readAbc(bytes, name, choice) };
    case 'take': {
      const take = parseTake(decodeText(bytes), name);
      if (take.notes.length === 0) {
        throw new ReedtraceError('E_NOTHING_PLAYED', `'${name}' has no notes`, 'give a take with notes');
      }
      const layout = harp.custom?.layout ?? layoutOf(take.harp);
      return onHarp(name, take.harp.key, layout, (notes) => melodyFromTake(take, notes));
    }
    case 'tab': {
      const text = named(name, () => parseTab(decodeText(bytes), style));
      if (harp.harp === undefined) {
        throw new ReedtraceError(
          'E_USAGE',
          `'${name}' is tab, which does not name its harp`,
          'add `--harp C` or another key',
        );
      }
      const layout = harp.custom?.layout ?? layoutById(harp.tuning ?? 'richter');
      const harpName = withArticle(`${harp.harp} harp (${layout.name})`);
      return onHarp(name, harp.harp, layout, (notes) => melodyFromTab(text, notes, harpName));
    }
  }
}

function onHarp(
  name: string,
  key: string,
  layout: Layout,
  read: (notes: ReturnType<typeof playableNotes>) => TabMelody,
): TuneFile {
  // Where a note lies does not depend on how the harp is tempered.
  const spec = { key, tuning: layout.id, temperament: 'equal', a4Hz: ISO_A4_HZ };
  const { melody, tab } = named(name, () => read(playableNotes(spec, { layout })));
  return { name, melody: checkedMelody(melody, name), played: { harp: parseHarpKey(key), layout, tab } };
}

/** Runs a reader of tab, which knows lines and columns only, and puts the name of the file before what it throws. */
function named<T>(name: string, read: () => T): T {
  try {
    return read();
  } catch (cause) {
    if (!(cause instanceof ReedtraceError) || cause.code !== 'E_TAB_INVALID') throw cause;
    throw new ReedtraceError(cause.code, `'${name}': ${cause.message}`, cause.fix, { cause });
  }
}

/** By the first bytes if they are clear, otherwise by the extension. */
function kindOf(bytes: Uint8Array, path: string): Kind {
  const start = decodeText(bytes.subarray(0, 4096))
    .replace(/^\uFEFF/, '')
    .trimStart();
  if (start.startsWith('MThd')) return 'midi';
  if (start.startsWith('PK') || start.startsWith('<')) return 'musicxml';
  if (start.startsWith('{')) return 'take';
  if (/^X:/m.test(start) || /^%abc/.test(start)) return 'abc';
  const byName: Readonly<Record<string, Kind>> = {
    '.mid': 'midi',
    '.midi': 'midi',
    '.kar': 'midi',
    '.musicxml': 'musicxml',
    '.xml': 'musicxml',
    '.mxl': 'musicxml',
    '.abc': 'abc',
    '.json': 'take',
  };
  return byName[extname(path).toLowerCase()] ?? 'tab';
}

async function readBytes(path: string): Promise<Uint8Array> {
  const bytes = await readInput(path, { other: 'name a take, a tab file, MusicXML, MIDI or ABC' });
  return within(bytes, path);
}

async function readAll(stdin: Io['stdin']): Promise<Uint8Array> {
  const chunks: Buffer[] = [];
  let length = 0;
  for await (const chunk of stdin) {
    chunks.push(Buffer.from(chunk));
    length += chunk.length;
    if (length > LIMITS.takeBytes.most) break;
  }
  return within(Buffer.concat(chunks), 'standard input');
}

/** A tune is small, and only a take may be as long as a recording. */
function within(bytes: Uint8Array, name: string): Uint8Array {
  const limit = kindOf(bytes, name) === 'take' ? 'takeBytes' : 'tuneBytes';
  if (bytes.length <= LIMITS[limit].most) return bytes;
  throw tooLarge(name, 'has', limit, bytes.length, 'give one tune only');
}
