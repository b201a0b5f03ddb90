import { firstInWords } from '../../check/advice/in-words.ts';
import { plainPage, sentence } from '../../export/page/plain-page.ts';
import { escapeHtml } from '../../text/html.ts';
import { scoreInWords } from './class-print.ts';
import { type WeeksSource, weeksSvg } from './weeks-print.ts';

/** The page of one pupil over weeks: the takes, what to work on now, the chart. */
export function weeksPage(source: WeeksSource): string {
  const { against, takes } = source;
  const rows = takes.map(
    ({ name, date, checked }) =>
      `<tr><td>${date ?? '–'}</td><td class="n">${scoreInWords(checked, '–')}</td><td>${escapeHtml(name)}</td><td>${sentence(firstInWords(checked))}</td></tr>`,
  );
  const last = takes[takes.length - 1];
  const next = last.checked.advice.map(
    ({ message, practise }) =>
      `<li>${sentence(message)}<br><span class="soft">To practise: ${escapeHtml(practise)}.</span></li>`,
  );
  return plainPage(
    `Over the weeks: ${against}`,
    `<h1>Over the weeks</h1><p>${takes.length} takes compared with ${escapeHtml(against)}.</p>
<table><thead><tr><th>Day</th><th class="n">Score</th><th>Take</th><th>First point</th></tr></thead><tbody>${rows.join('\n')}</tbody></table>
${next.length === 0 ? '' : `<h2>Work on first, after the latest</h2><ol>${next.join('')}</ol>`}
<h2>Take by take</h2><p class="soft">Each row is a measure, each dot a take; the line is the trend, the shade around it where the line may lie (95 %).</p>
<div class="wide">${weeksSvg(source) ?? '<p>No take has a date.</p>'}</div>`,
  );
}
