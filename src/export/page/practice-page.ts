import { approachInWords, type PracticeBend, type PracticePlan } from '../../check/bends/practice.ts';
import type { ContourPoint } from '../../measure/pitch-contour.ts';
import type { Mp3 } from '../../sound/mp3.ts';
import { formatTabNote, type TabStyle } from '../../tab/text.ts';
import { escapeHtml } from '../../text/html.ts';
import { hzToMidi } from '../../units.ts';
import { printed } from '../sheet/system-block.ts';
import { attemptsSvg } from './attempts.ts';
import { plainPage, sentence } from './plain-page.ts';
import { SOUND_SCRIPT } from './script/sound.ts';

/** An attempt as it was recorded. */
export interface HeardAttempt {
  readonly points: readonly ContourPoint[];
  readonly sound: Mp3;
}

/** A plan with its pictures and sounds. */
export interface PracticePageSource {
  readonly title: string;
  readonly plan: PracticePlan;
  readonly toleranceCents: number;
  readonly style: TabStyle;
  /** Best and typical attempt at each bend of the plan; null if the recording is missing. */
  readonly heard: readonly {
    readonly best: HeardAttempt | null;
    readonly typical: HeardAttempt | null;
  }[];
  /** Pictures that follow the plan, with their headings. */
  readonly charts: readonly { readonly heading: string; readonly svg: string }[];
}

const SCRIPT = `'use strict';
(function () {
${SOUND_SCRIPT}
var playing = null;
function stop() { if (playing) { playing.pause(); playing = null; } }
document.querySelectorAll('button[data-hz]').forEach(function (button) {
  button.addEventListener('click', function () {
    stop();
    var hz = Number(button.dataset.hz), at = context().currentTime + 0.05;
    if (button.dataset.plain) tone(hz, at, 3.5, Number(button.dataset.plain));
    else tone(hz, at, 3);
  });
});
document.querySelectorAll('button[data-audio]').forEach(function (button) {
  button.addEventListener('click', function () {
    stop();
    playing = document.getElementById(button.dataset.audio);
    playing.currentTime = 0;
    playing.play();
  });
});
})();`;

/** A practice plan as a page with sound: targets, and the pupil's own attempts beside them. */
export function practicePage(source: PracticePageSource): string {
  const { title, plan, charts } = source;
  const body = `<h1>${escapeHtml(title)}</h1>
<p>About ${plan.minutes === 1 ? 'one minute' : `${plan.minutes} minutes`} of practice, what needs it most first.</p>
${plan.bends.map((bend, i) => bendHtml(bend, i, source)).join('\n')}
<h2>Take care</h2><ul>${[...plan.cautions, 'On headphones keep the level moderate.'].map((text) => `<li>${sentence(text)}</li>`).join('')}</ul>
${charts.map(({ heading, svg }) => `<h2>${escapeHtml(heading)}</h2><div class="wide">${svg}</div>`).join('\n')}`;
  return plainPage(title, body, SCRIPT);
}

function bendHtml(bend: PracticeBend, i: number, source: PracticePageSource): string {
  const { tab, targetHz, plainHz, places, approaches, listen, steps, best, typical } = bend;
  const { style, heard, toleranceCents } = source;
  const name = printed(formatTabNote(tab, style));
  const plain = printed(formatTabNote({ ...tab, bend: 0, over: false }, style));
  const drawn = (attempt: HeardAttempt | null, cents: number, which: string) =>
    attempt === null
      ? []
      : [
          {
            title: `${which}: ${centsInWords(cents, tab.over)}`,
            points: attempt.points,
            targetMidi: hzToMidi(targetHz),
            plainMidi: hzToMidi(plainHz),
          },
        ];
  const attempts = [
    ...drawn(heard[i].best, best.cents, 'Your best'),
    ...(typical === best ? [] : drawn(heard[i].typical, typical.cents, 'A typical one of yours')),
  ];
  const mine = [
    audioHtml(`best${i}`, 'Your best', heard[i].best),
    ...(typical === best ? [] : [audioHtml(`typical${i}`, 'A typical one of yours', heard[i].typical)]),
  ];
  return `<section><h2>${escapeHtml(name)}</h2>
<p>${places.length === 0 ? 'This tune does not use it.' : `Where it sits: ${escapeHtml(printed(places.join('; ')))}.`}${approaches.length === 0 ? '' : ` What comes before it: ${escapeHtml(printed(approaches.map(approachInWords).join('; ')))}.`}</p>
<p><button type="button" data-hz="${targetHz.toFixed(2)}">Hear the target</button>${tab.over ? '' : `<button type="button" data-hz="${targetHz.toFixed(2)}" data-plain="${plainHz.toFixed(2)}">From ${escapeHtml(plain)} down to it</button>`}${mine.join('')}</p>
${attempts.length === 0 ? '<p class="soft">The recording is not next to the take, so your own attempts can’t be shown.</p>' : `<div class="wide">${attemptsSvg(attempts, { plain, target: name, toleranceCents })}</div>`}
<h3>Listen for</h3><ul>${listen.map((text) => `<li>${sentence(text)}</li>`).join('')}</ul>
<h3>Do</h3><ol>${steps.map(({ sec, text }) => `<li>${sentence(text)} <span class="soft">(${sec} s)</span></li>`).join('')}</ol></section>`;
}

function audioHtml(id: string, text: string, attempt: HeardAttempt | null): string {
  if (attempt === null) return '';
  const { bytes } = attempt.sound;
  const data = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength).toString('base64');
  return `<button type="button" data-audio="${id}">${text}</button><audio id="${id}" preload="auto" src="data:audio/mpeg;base64,${data}"></audio>`;
}

/** `12 cents short`, `8 cents too deep`, `on target` */
export function centsInWords(cents: number, over: boolean): string {
  const size = Math.round(Math.abs(cents));
  if (size === 0) return 'on target';
  const high = cents > 0;
  return `${size} ${size === 1 ? 'cent' : 'cents'} ${over ? (high ? 'sharp' : 'flat') : high ? 'short' : 'too deep'}`;
}
