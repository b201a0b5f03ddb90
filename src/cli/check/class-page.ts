import type { Pupil } from '../../check/class.ts';
import { plainPage as page, sentence } from '../../export/page/plain-page.ts';
import { counted } from '../../text/counted.ts';
import { escapeHtml } from '../../text/html.ts';
import {
  type ClassSource,
  middleInWords,
  needInWords,
  needsOfSeveral,
  rowInWords,
  scoreInWords,
} from './class-print.ts';

const list = (tag: 'ul' | 'ol', title: string, items: readonly string[]): string =>
  items.length === 0
    ? ''
    : `<h2>${title}</h2><${tag}>${items.map((item) => `<li>${item}</li>`).join('')}</${tag}>`;

/** The page of one pupil: score, what to work on first and how, what went well, note by note. */
export function pupilPage(pupil: Pupil, against: string): string {
  if ('error' in pupil)
    return page(pupil.id, `<h1>${escapeHtml(pupil.id)}</h1><p>Not judged: ${escapeHtml(pupil.error)}</p>`);
  const { attempt, advice, wentWell, remarks, otherTune } = pupil.checked;
  if (otherTune)
    return page(
      `${pupil.id}: ${against}`,
      `<h1>${escapeHtml(pupil.id)}</h1><p>Compared with ${escapeHtml(against)}: probably another tune.</p>${list('ul', 'What was heard', remarks.map(sentence))}`,
    );
  const { score, parts } = attempt.score;
  const findings = attempt.judgement.findings.map(
    ({ timeSec, message }) => `<span class="soft">${timeSec.toFixed(1)} s</span> ${sentence(message)}`,
  );
  return page(
    `${pupil.id}: ${against}`,
    `<h1>${escapeHtml(pupil.id)}</h1><p>Compared with ${escapeHtml(against)}: <strong>${Math.round(score)} of 100</strong>. <span class="soft">${escapeHtml(parts.map(({ part, because }) => `${part}: ${because}`).join('; '))}</span></p>
${list(
  'ol',
  'Work on first',
  advice.map(
    ({ message, practise }) =>
      `${sentence(message)}<br><span class="soft">To practise: ${escapeHtml(practise)}.</span>`,
  ),
)}
${list('ul', 'Went well', wentWell.map(sentence))}
${list('ul', 'About the recording', remarks.map(sentence))}
${list('ol', 'Note by note', findings)}`,
  );
}

/** The page of the class; pupils' pages are in the same folder. */
export function classPage({ against, pupils, report }: ClassSource, pageOf: (id: string) => string): string {
  const rows = pupils.map((pupil) => {
    const name = `<a href="${encodeURIComponent(pageOf(pupil.id))}">${escapeHtml(pupil.id)}</a>`;
    if ('error' in pupil)
      return `<tr><td>${name}</td><td class="n">–</td><td>Not judged: ${escapeHtml(pupil.error)}</td></tr>`;
    return `<tr><td>${name}</td><td class="n">${scoreInWords(pupil.checked, '–')}</td><td>${sentence(rowInWords(pupil.checked))}</td></tr>`;
  });
  const middle = middleInWords(report);
  return page(
    `The class: ${against}`,
    `<h1>The class</h1><p>${report.judged} of ${counted(report.pupils, 'pupil')} compared with ${escapeHtml(against)}${middle === null ? '' : `: ${middle}`}.</p>
<table><thead><tr><th>Pupil</th><th class="n">Score</th><th>First point</th></tr></thead><tbody>${rows.join('\n')}</tbody></table>
${list(
  'ul',
  'What several pupils need',
  needsOfSeveral(report).map((need) => sentence(needInWords(need, report.judged))),
)}
${list(
  'ul',
  'Where several pupils stumble',
  report.hardPlaces.map(({ place, ids }) => sentence(`${place}: ${counted(ids.length, 'pupil')}`)),
)}
${list('ul', 'Probably sent another tune', report.otherTune.map(escapeHtml))}
${list(
  'ul',
  'Sent only part of it',
  report.sentPart.map(
    ({ id, missingLines }) =>
      `${escapeHtml(id)}: ${missingLines.length === 1 ? 'line' : 'lines'} ${missingLines.join(', ')} missing.`,
  ),
)}`,
  );
}
