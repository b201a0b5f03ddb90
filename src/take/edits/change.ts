import { ownParts, playableNotes } from '../../harp/playable.ts';
import type { CustomHarp } from '../../harp/types.ts';
import { readAgain } from '../../holes/redecode.ts';
import { ACCEPTED, isSettled } from '../../tab/flags.ts';
import { withOrnaments } from '../../tab/ornament.ts';
import { type TabNote, tabOf } from '../../tab/tab-note.ts';
import { leftOutAgain } from '../left-out.ts';
import { buildBeats, givenBeats, saidOfBeats } from '../music.ts';
import type { Take, TakeSyllable } from '../schema.ts';
import {
  nameSection,
  relabel,
  setDownbeat,
  shiftNotes,
  togglePhraseBreak,
  toOtherPhrase,
  withAdvice,
  withSections,
  withTitle,
} from '../structure.ts';
import type { EditAction } from './action.ts';
import {
  bringBack,
  insertNote,
  mapNotes,
  mergeNotes,
  moveEdge,
  readAs,
  roundSec,
  settled,
  splitNote,
  withNotes,
} from './change-notes.ts';

type TakeNote = Take['notes'][number];

/** The take after an action; the same object when it changes nothing. */
export function changeTake(take: Take, action: EditAction, custom: CustomHarp = {}): Take {
  const changed = doAction(take, action, custom);
  return changed.notes === take.notes ? changed : relabel(changed);
}

function doAction(take: Take, action: EditAction, custom: CustomHarp): Take {
  switch (action.kind) {
    case 'read':
      return readAs(take, new Map(action.ids.map((id) => [id, action.as])), custom, action.f0Hz);
    case 'offer':
      return readAs(take, new Map(action.readings), custom);
    case 'carry': {
      const byId = new Map(take.notes.map((note) => [note.id, note]));
      const wanted = action.pairs.flatMap(([from, to]): [string, TabNote][] => {
        const note = byId.get(from);
        return note === undefined ? [] : [[to, tabOf(note)]];
      });
      return readAs(take, new Map(wanted), custom);
    }
    case 'accept':
      return mapNotes(take, new Set(action.ids), (note) =>
        isSettled(note) ? note : settled(note, ACCEPTED, note.alternatives),
      );
    case 'move':
      return moveEdge(take, action.id, action.edge, roundSec(action.toSec));
    case 'split':
      return splitNote(take, action, custom);
    case 'merge':
      return mergeNotes(take, action.id);
    case 'insert':
      return insertNote(take, action, custom);
    case 'bring-back':
      return bringBack(take, action, custom);
    case 'delete': {
      const gone = new Set(action.ids);
      return leftOutAgain(
        withNotes(
          take,
          take.notes.filter(({ id }) => !gone.has(id)),
        ),
        take.notes.filter(({ id }) => gone.has(id)),
      );
    }
    case 'ornaments': {
      const done = new Map(action.notes);
      return mapNotes(take, new Set(done.keys()), (note) => withOrnaments(note, done.get(note.id) ?? []));
    }
    case 'harp': {
      const own = { ...take.harp.custom, ...action.harp.custom, ...custom };
      const harp = withOwn({ ...take.harp, ...action.harp, confidence: 1 }, own);
      return { ...take, harp, notes: readAgain(take.notes, playableNotes(harp, custom)) as TakeNote[] };
    }
    case 'phrase-break':
      return togglePhraseBreak(take, action.at);
    case 'other-phrase':
      return toOtherPhrase(take, action.first, action.last);
    case 'title':
      return withTitle(take, action.title);
    case 'advice':
      return withAdvice(take, action.phrase, action.text);
    case 'section':
      return nameSection(take, action.phrase, action.name);
    case 'form':
      return withSections(take, action.names) ?? take;
    case 'shift':
      return shiftNotes(take, action.ids, action.bySec);
    case 'downbeat':
      return setDownbeat(take, action.id);
    case 'say-beats':
      return { ...take, beats: buildBeats(take.notes, saidOfBeats(givenBeats(take), action.beats)) };
    case 'words':
      return alignWords(take, action);
    case 'verses':
      return { ...take, words: [...action.words] };
  }
}

/** The harp with the custom parts that it names; those that another tuning replaces are dropped. */
function withOwn({ custom: _, ...harp }: Take['harp'], custom: CustomHarp): Take['harp'] {
  const own = ownParts(harp, custom);
  return { ...harp, ...(own === undefined ? {} : { custom: own }) };
}

function alignWords(take: Take, { verse, ids, syllables }: EditAction & { kind: 'words' }): Take {
  const mine = new Set(ids);
  const place = new Map(take.notes.map(({ id }, i) => [id, i]));
  const placeOf = ({ noteId }: TakeSyllable) => place.get(noteId ?? '') ?? Number.POSITIVE_INFINITY;
  const ofVerse = take.words.filter((each) => each.verse === verse && !mine.has(each.noteId ?? ''));
  const laid = [...ofVerse, ...syllables.map((each) => ({ ...each, verse }))];
  // Reading order within the verse; the sort is stable, so words without a note stay in order at the end.
  laid.sort((a, b) => (placeOf(a) === placeOf(b) ? 0 : placeOf(a) - placeOf(b)));
  const words = [
    ...take.words.filter((each) => each.verse < verse),
    ...laid,
    ...take.words.filter((each) => each.verse > verse),
  ];
  return { ...take, words };
}
