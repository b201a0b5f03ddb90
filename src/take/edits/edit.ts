import type { EditAction } from './action.ts';
import type { TakePatch } from './patch.ts';

/** One entry of a take's `edits`: a change with its before and after, or the undoing or redoing of an earlier one. */
export type Edit = EditChange | EditStep;

/** What every edit has. */
export interface EditHead {
  /** Position in the list, from 1. */
  readonly seq: number;
  /** When, ISO 8601 in UTC. */
  readonly at: string;
  /** Who made it: the player, or the program, whose offer the player accepted. */
  readonly by: 'player' | 'offer';
  /** Undone and redone together with the edit before it. */
  readonly joins?: true;
}

/** A change of the take. */
export interface EditChange extends EditHead {
  /**
   * An action of the correction screen, new beats or phrases (words come from both), or changes merged into what
   * another program saved meanwhile.
   */
  readonly what: EditAction['kind'] | 'beats' | 'phrases' | 'merged';
  readonly patch: TakePatch;
}

/** The undoing or redoing of an earlier edit. */
export interface EditStep extends EditHead {
  readonly what: 'undo' | 'redo';
  /** Number of the edit that is undone or redone. */
  readonly of: number;
}
