/** What can be played on a page, which decides what controls there are. */
export interface ControlOptions {
  readonly recording: boolean;
  readonly teacher: boolean;
  readonly staff: boolean;
}

const SPEEDS = [0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1] as const;

function toggle(id: string, text: string, on = false): string {
  return `<button type="button" id="${id}" aria-pressed="${on}">${text}</button>`;
}

/**
 * The bar at the bottom of the page, within reach of a thumb: first what is used all the time, the rest under "More".
 */
export function controlsHtml({ recording, teacher, staff }: ControlOptions): string {
  const speeds = SPEEDS.map(
    (speed) =>
      `<option value="${speed}"${speed === 1 ? ' selected' : ''}>${Math.round(100 * speed)} %</option>`,
  );
  const sounds = [
    ...(recording ? [['own', 'Recording']] : []),
    ['tab', 'Tab as sound'],
    ...(teacher
      ? [
          ['teacher', 'Teacher'],
          ['both', 'Teacher, then recording'],
        ]
      : []),
  ].map(([value, text]) => `<option value="${value}">${text}</option>`);
  return `<div class="player" role="region" aria-label="Player">
<div class="row">
<button type="button" id="back" aria-label="Line before">‹</button>
<button type="button" id="play" class="main">Play</button>
<button type="button" id="next" aria-label="Next line">›</button>
${toggle('loop', 'Loop')}${toggle('slow', 'Slow')}
</div>
<div class="row">
<button type="button" id="along">Play along</button>${toggle('record', 'Record me')}<button type="button" id="again" hidden>Line, me</button>${teacher ? '<button type="button" id="compare">Teacher, me</button>' : ''}
<button type="button" id="more" aria-expanded="false" aria-controls="choices">More</button>
</div>
<div class="choices" id="choices" hidden>
<label>Play <select id="span"><option value="one">this line</option><option value="two">this line and the next</option><option value="sofar">all up to this line</option><option value="all">the whole tune</option></select></label>
<label>Speed of this line, same pitch <select id="speed">${speeds.join('')}</select></label>
<label>Sound <select id="sound">${sounds.join('')}</select></label>
<div class="toggles">${toggle('count', 'Count in')}${toggle('gap', 'Answer gap')}${toggle('rise', 'Faster each time')}</div>
<div class="toggles" role="group" aria-label="Show">${staff ? toggle('show-staff', 'Staff', true) : ''}${toggle('show-pitch', 'Pitch')}${toggle('show-harp', 'Harp', true)}</div>
</div>
<p class="status" role="status" aria-live="polite"></p>
</div>
`;
}
