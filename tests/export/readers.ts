import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { fileURLToPath } from 'node:url';
import { XmlBufferInputProvider, XmlDocument, XsdValidator, xmlRegisterInputProvider } from 'libxml2-wasm';
import { parseMidi } from 'midi-file';

/** A note as another program reads it, in quarter notes from the first one. */
export interface ReadNote {
  readonly midi: number;
  readonly onset: number;
  readonly length: number;
}

const schemaFile = (name: string) =>
  readFileSync(fileURLToPath(new URL(`../fixtures/musicxml/${name}`, import.meta.url)));

let validator: XsdValidator | undefined;

/** What the W3C schema of MusicXML 4.0 (libxml2) finds wrong; empty when valid. */
export function schemaErrors(xml: string): string[] {
  if (validator === undefined) {
    xmlRegisterInputProvider(
      new XmlBufferInputProvider({ 'xml.xsd': schemaFile('xml.xsd'), 'xlink.xsd': schemaFile('xlink.xsd') }),
    );
    const schema = XmlDocument.fromBuffer(schemaFile('musicxml.xsd'), { url: 'musicxml.xsd' });
    validator = XsdValidator.fromDoc(schema);
  }
  // The DTD is named for other readers; the schema needs none.
  const document = XmlDocument.fromString(xml.replace(/<!DOCTYPE[^>]*>/, ''));
  try {
    validator.validate(document);
    return [];
  } catch (error) {
    const { details } = error as { details?: { message: string; line: number }[] };
    return details?.map(({ message, line }) => `${line}: ${message}`) ?? [String(error)];
  } finally {
    document.dispose();
  }
}

/** Notes of a MIDI file as midi-file reads it, all tracks together. */
export function notesOfMidi(bytes: Uint8Array): ReadNote[] {
  const { header, tracks } = parseMidi(bytes);
  const notes: { midi: number; onset: number; length: number }[] = [];
  for (const track of tracks) {
    const sounding = new Map<number, number>();
    let at = 0;
    for (const event of track) {
      at += event.deltaTime;
      if (event.type !== 'noteOn' && event.type !== 'noteOff') continue;
      const from = sounding.get(event.noteNumber);
      if (from !== undefined) {
        const ticks = header.ticksPerBeat!;
        notes.push({ midi: event.noteNumber, onset: from / ticks, length: (at - from) / ticks });
        sounding.delete(event.noteNumber);
      }
      if (event.type === 'noteOn' && event.velocity > 0) sounding.set(event.noteNumber, at);
    }
  }
  notes.sort((a, b) => a.onset - b.onset);
  return notes;
}

let engraver: Promise<object> | undefined;

async function startEngraver(): Promise<object> {
  const [{ default: createModule }, { enableLog, enableLogToBuffer, LOG_WARNING }] = await Promise.all([
    import('verovio/wasm'),
    import('verovio/esm'),
  ]);
  const module = await createModule();
  enableLog(LOG_WARNING, module);
  enableLogToBuffer(true, module);
  return module;
}

/** The engraver verovio, quiet, with a score loaded. */
async function verovio(xml: string) {
  engraver ??= startEngraver();
  const module = await engraver;
  const { VerovioToolkit } = await import('verovio/esm');
  const toolkit = new VerovioToolkit(module) as InstanceType<typeof VerovioToolkit> & {
    renderToMIDI(): string;
    getMEI(): string;
  };
  toolkit.setOptions({ xmlIdSeed: 1 });
  if (!toolkit.loadData(xml)) throw new Error(`verovio: ${toolkit.getLog()}`);
  return toolkit;
}

/** What verovio makes of MusicXML: notes, syllables with their place in the word, and what it complains of. */
export async function readWithVerovio(xml: string) {
  const toolkit = await verovio(xml);
  const notes = notesOfMidi(Buffer.from(toolkit.renderToMIDI(), 'base64'));
  const mei = toolkit.getMEI();
  toolkit.renderToSVG(1);
  const log = toolkit.getLog().trim();
  const syllables = [...mei.matchAll(/<syl\b([^>]*)>([^<]*)<\/syl>/g)].map(([, attributes, text]) => ({
    text: text.replaceAll('&apos;', "'").replaceAll('&amp;', '&'),
    wordpos: /wordpos="(\w)"/.exec(attributes)?.[1] ?? 's',
  }));
  toolkit.destroy();
  return { notes, syllables, log, mei };
}

// abcjs is CommonJS and ships no types for these two.
const abcjs = createRequire(import.meta.url)('abcjs') as {
  parseOnly(abc: string): AbcTune[];
  synth: { getMidiFile(abc: string, options: { midiOutputType: 'binary' }): Uint8Array[] };
};

interface AbcTune {
  readonly warnings?: string[];
  readonly lines: {
    staff?: {
      voices: { el_type: string; rest?: unknown; lyric?: { syllable: string; divider: string }[] }[][];
    }[];
  }[];
}

/** What abcjs makes of ABC: notes, the syllables below each by line of words, and what it complains of. */
export function readWithAbcjs(abc: string) {
  const [tune] = abcjs.parseOnly(abc);
  const lyrics: string[][] = [];
  for (const line of tune.lines) {
    for (const element of line.staff?.[0].voices[0] ?? []) {
      if (element.el_type !== 'note' || element.rest) continue;
      for (const [row, { syllable, divider }] of (element.lyric ?? []).entries()) {
        lyrics[row] ??= [];
        if (syllable !== '') lyrics[row].push(divider === '-' ? `${syllable}-` : syllable);
      }
    }
  }
  const [midi] = abcjs.synth.getMidiFile(abc, { midiOutputType: 'binary' });
  return { notes: notesOfMidi(midi), lyrics, warnings: tune.warnings ?? [] };
}
