import type { EditAction } from './action.ts';
import type { TakePatch } from './patch.ts';

/** One line of a take's `edits`: a change with both its sides, or the undoing or redoing of an earlier one. */
export type Edit = EditChange | EditStep;

/** What every edit has. */
export interface EditHead {
  /** Position in the list, from 1. */
  readonly seq: number;
  /** When, ISO 8601 in UTC. */
  readonly at: string;
  /** Whose idea it was: the player's own, or an offer of the decoder's that the player took. */
  readonly by: 'player' | 'offer';
  /** It continues with the edit before: both are undone and redone as one step. */
  readonly joins?: true;
}

/** A change of the take. */
export interface EditChange extends EditHead {
  /**
   * An action of the correction screen, new beats or phrases (words come from both), or one's own changes put into what
   * another program saved meanwhile.
   */
  readonly what: EditAction['kind'] | 'beats' | 'phrases' | 'merged';
  readonly patch: TakePatch;
}

/** The undoing or redoing of an earlier edit. */
export interface EditStep extends EditHead {
  readonly what: 'undo' | 'redo';
  /** Number of the edit that is undone or done again. */
  readonly of: number;
}
