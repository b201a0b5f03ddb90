import { isSettled, MAYBE_TWO } from '../../tab/flags.ts';
import type { Take } from '../../take/schema.ts';
import { hzToMidi } from '../../units.ts';
import type { Match } from './match.ts';
import type { PlayedNote } from './played.ts';
import type { Reference } from './reference.ts';

/** A sound this close to the wanted note, in semitones, may be that note. */
const SAME_SEMITONES = 0.6;
/** A note less sure than this may have hidden another … */
const SURE = 0.7;
/** … when it covers this share of the other's time. */
const OVER_SHARE = 0.5;

/**
 * Notes of the reference that are not in the take although the recording suggests they were played: a sound of their
 * pitch is where they should be but was left out as too faint or too short; several holes sound there, theirs among
 * them; or what was heard there is itself doubtful, or may be two notes. They can't be called missing.
 * @returns places in the reference
 */
export function findFaint(
  { steps, shift, tempo }: Match,
  played: readonly PlayedNote[],
  take: Take,
  { notes }: Reference,
): Set<number> {
  const sounds = (take.leftOut ?? []).map(({ onsetSec, f0Hz }) => ({
    onsetSec,
    midi: hzToMidi(f0Hz, take.harp.a4Hz),
  }));
  const faint = new Set<number>();
  let before = -1;
  let fromSec = Number.NEGATIVE_INFINITY;
  steps.forEach((step, i) => {
    if (step.kind === 'pair' || step.kind === 'added') {
      before = step.a;
      fromSec = played[before].onsetSec;
    }
    if (step.kind !== 'missed') return;
    const { midi, onset, length } = notes[step.b];
    const next = steps.slice(i + 1).find(({ kind }) => kind === 'pair' || kind === 'added');
    const toSec = next !== undefined && 'a' in next ? played[next.a].onsetSec : Number.POSITIVE_INFINITY;
    const sound = sounds.find(
      (sound) =>
        sound.onsetSec > fromSec &&
        sound.onsetSec < toSec &&
        Math.abs(sound.midi - midi - shift) <= SAME_SEMITONES,
    );
    if (sound !== undefined) {
      fromSec = sound.onsetSec;
      faint.add(step.b);
      return;
    }
    const wantedSec = [onset, onset + length].map((place) => tempo.secOf(place, before));
    const [beginSec, endSec] = wantedSec;
    if (beginSec === null || endSec === null || endSec <= beginSec) return;
    const isOver = ({ onsetSec, offsetSec }: Pick<PlayedNote, 'onsetSec' | 'offsetSec'>): boolean =>
      Math.min(endSec, offsetSec) - Math.max(beginSec, onsetSec) >= OVER_SHARE * (endSec - beginSec);
    const isAmong = [before, before + 1].some((a) => {
      const note = played[a];
      return note !== undefined && note.midis.length > 1 && note.midis.includes(midi + shift) && isOver(note);
    });
    // Including notes too unsure to be judged at all.
    const isHidden = take.notes.some((note) => (note.confidence < SURE || isMaybeTwo(note)) && isOver(note));
    if (isAmong || isHidden) faint.add(step.b);
  });
  return faint;
}

/** Whether a second onset was heard within a note, even too softly for the player to be told. */
function isMaybeTwo(note: Take['notes'][number]): boolean {
  return note.flags.includes(MAYBE_TWO) || (note.againSec !== undefined && !isSettled(note));
}
