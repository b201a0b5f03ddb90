import type { PlayableNote } from '../../harp/types.ts';
import { powerToDb } from '../../units.ts';
import type { ReedObservation, SeenReed } from './reed-observations.ts';
import type { ReedTable } from './reed-table.ts';
import { soundingGainDb } from './sounding.ts';

/** Partials this far above the noise, in power, are used for the level. */
const CLEARLY_RISEN = 4;
const FEWEST_PARTIALS = 2;
/**
 * In a room every partial is random by 4 dB or so, and the few strong ones dominate the level. So it is estimated from
 * everything related to it, and drawn towards the usual level of second reeds. Least squares on the 1,436 reeds from -23 dB up
 * that were found in labelled takes in rooms; those just below -20 dB keep the others from being drawn down to them.
 */
const ROOM_DB = -4.77;
const ROOM_BY_OWN_SOUND = 0.384;
const ROOM_BY_PARTIAL = 0.286;
/** Players blow all reeds about equally hard, so a reed whose notes are loud is favoured by the room. */
const ROOM_NOTE = 0.39;
const ROOM_REED = -0.2;

/**
 * Level of a second reed relative to the note while it sounds, in dB. In a dry recording its visible partials are compared
 * with the same partials where that reed is the note, which shows what the note hides of it; if it never is, the note's own
 * partials are used instead.
 * @param room  how much of the room is in the take, 0 to 1 (`roomShare`)
 */
export function reedLevelDb(
  reed: SeenReed,
  main: PlayableNote,
  observation: ReedObservation,
  table: ReedTable,
  room: number,
): number {
  const { finding, note, next } = reed;
  const gainDb = soundingGainDb(finding);
  const drySoundDb = byOwnSoundDb(reed, observation, table) ?? finding.byPowerDb;
  const dryDb = drySoundDb + gainDb;
  // A chord is as loud as it was meant to be.
  if (!next) return dryDb;
  const roomDb =
    ROOM_DB +
    ROOM_BY_OWN_SOUND * dryDb +
    ROOM_BY_PARTIAL * (finding.byPartialDb + gainDb) +
    ROOM_NOTE * usualLevelDb(main, table) +
    ROOM_REED * usualLevelDb(note, table);
  return dryDb + room * (roomDb - dryDb);
}

/** Level from the partials of the reed where it is the note; null if there is no such note or too little is visible. */
function byOwnSoundDb(
  { finding, note }: SeenReed,
  observation: ReedObservation,
  table: ReedTable,
): number | null {
  const sound = table.soundOf(note);
  if (sound === null) return null;
  let seen = 0;
  let own = 0;
  let count = 0;
  for (const { number, power, floor } of finding.partials) {
    if (number > sound.partialsDb.length || power < CLEARLY_RISEN * floor) continue;
    seen += power - floor;
    own += 10 ** (sound.partialsDb[number - 1] / 10);
    count++;
  }
  return count < FEWEST_PARTIALS ? null : powerToDb(seen / own / observation.power);
}

/** How loud the notes of a reed are relative to the take's usual note; 0 for bends and reeds without notes. */
function usualLevelDb(note: PlayableNote, table: ReedTable): number {
  return note.bend > 0 || note.over ? 0 : (table.soundOf(note)?.levelDb ?? 0);
}
