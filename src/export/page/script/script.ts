import { CONTROLS_SCRIPT } from './controls.ts';
import { LOUDNESS_SCRIPT } from './loudness.ts';
import { MARKS_SCRIPT } from './marks.ts';
import { PRACTICE_SCRIPT } from './practice.ts';
import { RECORD_SCRIPT } from './record.ts';
import { SOUND_SCRIPT } from './sound.ts';
import { STATE_SCRIPT } from './state.ts';

/**
 * The script of the page: practise line by line, each at its own speed, looped, with a count-in and a gap to answer, or
 * joined to its neighbours; what sounds is marked on tab, pitch and harp. No network, no storage.
 */
export const PAGE_SCRIPT = `
'use strict';
(function () {
${[SOUND_SCRIPT, STATE_SCRIPT, PRACTICE_SCRIPT, MARKS_SCRIPT, LOUDNESS_SCRIPT, RECORD_SCRIPT, CONTROLS_SCRIPT].join('')}})();
`;
