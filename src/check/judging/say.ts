import type { TabNote } from '../../tab/tab-note.ts';
import { countedInWords } from '../../text/counted.ts';
import type { ReferenceNote } from '../align/reference.ts';
import type { Remark } from '../finding.ts';
import { holeName, intervalInWords, placeInWords, seconds } from '../words.ts';

/* The sentences about single notes. */

/** @param apart semitones above what is wanted; `name` and `wanted` in words, as `-4 (D5)` */
export const wrongNote = (apart: number, name: string, wanted: string, place: ReferenceNote): Remark => ({
  kind: apart % 12 === 0 ? 'octave' : 'wrong-note',
  value: apart,
  message: `in ${placeInWords(place)} you played ${name} instead of ${wanted}, ${intervalInWords(apart)}`,
});

export const otherHole = (played: TabNote, wanted: TabNote, place: ReferenceNote): Remark => ({
  kind: 'same-pitch-other-hole',
  value: null,
  message: `in ${placeInWords(place)} you played ${holeName(played)} for ${holeName(wanted)}: the right pitch from another hole`,
});

/** @param lateSec positive is late */
export const offTime = (played: TabNote, lateSec: number, place: ReferenceNote): Remark => {
  const kind = lateSec > 0 ? 'late' : 'early';
  return {
    kind,
    value: lateSec,
    message: `${holeName(played)} in ${placeInWords(place)} starts ${kind} by ${seconds(lateSec)}`,
  };
};

/** @param held whether the note before it, of the same pitch, was held through it */
export const missedNote = (wanted: string, held: boolean, place: ReferenceNote): Remark => ({
  kind: 'missed',
  value: null,
  message: `${wanted} in ${placeInWords(place)} is ${held ? 'not tongued again: the note before it is held through' : 'missing'}`,
});

export const extraNote = (name: string): Remark => ({
  kind: 'added',
  value: null,
  message: `${name} is an extra note`,
});

/** @param chord  what is wanted, `-4+5` */
export const missingHole = (hole: string, chord: string, place: ReferenceNote): Remark => ({
  kind: 'missed',
  value: null,
  message: `${hole} of ${chord} in ${placeInWords(place)} is missing`,
});

/** @param wanted  the note or chord that is wanted */
export const extraHole = (hole: string, wanted: string, place: ReferenceNote): Remark => ({
  kind: 'second-reed',
  value: 0,
  message: `${hole} sounds as loud as ${wanted} in ${placeInWords(place)}, where it should be silent`,
});

/** @param wanted  the note or shake that is wanted, `4w5` */
export const shakeNote = (
  how: 'plain' | 'together' | 'shaken',
  name: string,
  wanted: string,
  place: ReferenceNote,
): Remark => {
  const where = placeInWords(place);
  switch (how) {
    case 'plain':
      return {
        kind: 'missed',
        value: null,
        message: `the shake ${wanted} in ${where} is played as a plain ${name}`,
      };
    case 'together':
      return {
        kind: 'missed',
        value: null,
        message: `the shake ${wanted} in ${where} is held as ${name}, both notes at once`,
      };
    case 'shaken':
      return {
        kind: 'second-reed',
        value: 0,
        message: `in ${where} you shake ${name} where a plain ${wanted} is wanted`,
      };
  }
};

export const restart = (notes: number, place: ReferenceNote): Remark => ({
  kind: 'restart',
  value: notes,
  message: `here you went back ${countedInWords(notes, 'note')} and started again from ${placeInWords(place)}`,
});
