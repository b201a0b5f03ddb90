import { decodeText } from '../../../text/decode-text.ts';
import type { Melody } from '../../melody.ts';
import { checkedMelody } from '../check-melody.ts';
import { musicError } from '../fault.ts';
import { choosePart, type NamedPart, type TuneChoice } from '../which-part.ts';
import { unpackMxl } from './mxl.ts';
import { readScorePart, voicesOfPart } from './part.ts';
import { all, type Element, first, parseXml } from './xml.ts';

/** A part of a score, with its voices in the order of the score. */
interface ScorePart extends NamedPart {
  readonly voices: ReadonlyMap<string, Melody>;
}

/**
 * Reads the melody of a MusicXML score (4.0 or older, partwise), plain or zipped (.mxl): the part asked for, else the one
 * named as the melody, else the highest; of a part with several voices, the highest unless one is asked for, as in `P1.2`. Of a
 * chord it reads the highest note. Ties are joined, transposing parts are read at sounding pitch, repeats are written out, D.C.
 * and D.S. followed, and grace notes, cue notes and percussion are left out.
 * @param name  what to call the file in an error
 * @throws ReedtraceError E_MUSIC_INVALID; E_USAGE for a part that the score does not have
 */
export function readMusicXml(bytes: Uint8Array, name: string, choice: TuneChoice = {}): Melody {
  const packed = bytes[0] === 0x50 && bytes[1] === 0x4b;
  const text = packed ? unpackMxl(bytes, name) : decodeText(bytes);
  const root = parseXml(text, name);
  if (root.name !== 'score-partwise') {
    throw musicError(
      name,
      root.name === 'score-timewise' ? 'is a timewise score' : `is not a score (begins with <${root.name}>)`,
      'export it as partwise MusicXML',
    );
  }
  const readings = all(root, 'part').map((part) => ({ part, reading: readScorePart(part) }));
  const marked = readings.find(({ reading }) => reading.marks.length > 0)?.reading;
  const parts = readings.flatMap(({ part, reading }, i): ScorePart[] => {
    const marks = (reading.marks.length > 0 ? reading : marked)?.marks ?? [];
    const read = [...voicesOfPart(reading, marks, titleOf(root), choice.repeats !== false)];
    if (read.length === 0) return [];
    const id = part.attributes.id ?? String(i + 1);
    const voices = new Map(read.map(([voice, melody]) => [`${id}.${voice}`, checkedMelody(melody, name)]));
    return [{ id, name: nameOfPart(root, id), voices }];
  });
  if (parts.length === 0) throw musicError(name, 'has no pitched notes', 'give a score with a melody');
  const voice = parts
    .map(({ voices }) => voices.get(choice.part ?? ''))
    .find((melody) => melody !== undefined);
  if (voice !== undefined) return voice;
  const read = (id: string) => readVoice(parts.find((part) => part.id === id)!, name);
  if (parts.length === 1 && choice.part === undefined) return read(parts[0].id);
  return choosePart(parts, choice.part, read, name, 'part');
}

/** The only voice of a part, or the highest. */
function readVoice({ voices }: ScorePart, name: string): Melody {
  const [only] = voices.values();
  if (voices.size === 1) return only;
  const named = [...voices.keys()].map((key): NamedPart => ({ id: key, name: null }));
  return choosePart(named, undefined, (key) => voices.get(key) ?? only, name, 'voice');
}

function titleOf(root: Element): string | null {
  const title = (first(root, 'work', 'work-title') ?? first(root, 'movement-title'))?.text.trim();
  return title ? title : null;
}

function nameOfPart(root: Element, id: string): string | null {
  const list = first(root, 'part-list');
  const entry =
    list === undefined ? undefined : all(list, 'score-part').find(({ attributes }) => attributes.id === id);
  const name = entry === undefined ? undefined : first(entry, 'part-name')?.text.trim();
  return name === undefined || name === '' ? null : name;
}
