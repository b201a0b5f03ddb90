import { create } from 'xmlbuilder2';
import { buildBars } from '../notation/bars.ts';
import { leftOverInWords, type Score } from '../score.ts';
import { writeBar, writeEmptyBar } from './bar.ts';
import { clean, type MusicXmlOptions } from './options.ts';

/** General MIDI program of the harmonica, counted from 1. */
const HARMONICA_PROGRAM = 23;
/** MusicXML has no place among its notes for words without a note. */
const LEFT_OVER_FIELD = 'words without a note';

/**
 * A score as MusicXML 4.0 (W3C), partwise: tab as the first line of lyrics, words as the others with
 * syllabics and extends, chromatic bends spelled in the key; words without a note in a field of the header.
 */
export function writeMusicXml(score: Score, options: MusicXmlOptions): string {
  const document = create({ version: '1.0', encoding: 'UTF-8' }).dtd({
    name: 'score-partwise',
    pubID: '-//Recordare//DTD MusicXML 4.0 Partwise//EN',
    sysID: 'http://www.musicxml.org/dtds/partwise.dtd',
  });
  const root = document.ele('score-partwise', { version: '4.0' });
  root.ele('work').ele('work-title').txt(clean(score.title));
  const identification = root.ele('identification');
  if (options.by) identification.ele('creator', { type: 'composer' }).txt(clean(options.by));
  identification.ele('encoding').ele('software').txt('Reedtrace');
  const left = leftOverInWords(score);
  if (left.length > 0) {
    const field = identification.ele('miscellaneous').ele('miscellaneous-field', { name: LEFT_OVER_FIELD });
    field.txt(clean(left.join('\n')));
  }
  const listed = root.ele('part-list').ele('score-part', { id: 'P1' });
  const { harp } = score.take;
  listed.ele('part-name').txt(options.part === undefined ? 'Harmonica' : '');
  const instrument = listed.ele('score-instrument', { id: 'P1-I1' });
  instrument.ele('instrument-name').txt(clean(`Harmonica in ${harp.key}, ${harp.tuning} tuning`));
  instrument.ele('instrument-sound').txt('wind.reed.harmonica');
  const midi = listed.ele('midi-instrument', { id: 'P1-I1' });
  midi.ele('midi-channel').txt('1');
  midi.ele('midi-program').txt(String(HARMONICA_PROGRAM));
  const part = root.ele('part', { id: 'P1' });
  const bars = options.part?.bars ?? buildBars(score);
  for (const [i, bar] of bars.entries()) writeBar(part, bar, i, bars, score, options);
  if (bars.length === 0) writeEmptyBar(part, score);
  return `${document.end({ prettyPrint: true }).replace(' standalone="no"', '')}\n`;
}
