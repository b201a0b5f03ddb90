import type { LookedAt } from '../../recording/look.ts';
import { MOST_SEC } from '../../recording/wave.ts';
import { hung } from '../terminal/hung.ts';
import { oneLine } from '../terminal/message.ts';

const round = (value: number, digits: number): number => Number(value.toFixed(digits));

/** The document `reedtrace-recording`, version 1. */
export function recordingJson(looked: LookedAt): string {
  const { problems, loudnessLufs, snrDb } = looked;
  const document = {
    format: 'reedtrace-recording',
    version: 1,
    recording: {
      file: looked.file,
      durationSec: round(looked.durationSec, 3),
      sampleRate: looked.sampleRate,
      notes: looked.notes,
      loudnessLufs: loudnessLufs === null ? null : round(loudnessLufs, 1),
      peakDb: round(looked.peakDb, 1),
      noiseBelowPlayingDb: snrDb === null ? null : round(snrDb, 1),
    },
    problems: problems.map((problem) => ({
      ...problem,
      fromSec: round(problem.fromSec, 3),
      toSec: round(problem.toSec, 3),
      places: problem.places.map(({ fromSec, toSec }) => ({
        fromSec: round(fromSec, 3),
        toSec: round(toSec, 3),
      })),
    })),
  };
  return `${JSON.stringify(document, null, 2)}\n`;
}

/** The same as text. */
export function recordingText(looked: LookedAt, columns: number): string {
  const { problems, notes, snrDb, loudnessLufs } = looked;
  const name = oneLine(looked.file);
  const lines: string[] = [];
  if (notes === 0) lines.push(...hung('', `${name}: no playing found in it`, columns));
  else if (problems.length === 0)
    lines.push(...hung('', `${name}: a good recording: everything can be judged`, columns));
  else {
    const count = problems.length === 1 ? 'one thing' : `${problems.length} things`;
    lines.push(...hung('', `${name}: ${count} to improve`, columns));
  }
  problems.forEach(({ severity, message, spoils, cure, places }, i) => {
    const where =
      places.length <= 3 && places[0].toSec - places[0].fromSec < 3
        ? `, at ${places.map(clock).join(', ')}`
        : '';
    lines.push(
      '',
      ...hung(
        `${i + 1}.`,
        `${capital(message)}${where}.${severity === 'severe' ? ' This is severe.' : ''}`,
        columns,
      ),
    );
    lines.push(...hung('   ', `Affects: ${spoils.join(', ')}.`, columns));
    lines.push(...hung('   ', cure, columns));
  });
  const facts = [
    ...(loudnessLufs === null ? [] : [`loudness ${loudnessLufs.toFixed(0)} LUFS`]),
    `peak ${looked.peakDb.toFixed(0)} dB`,
    ...(snrDb === null ? [] : [`noise ${snrDb.toFixed(0)} dB below the playing`]),
    `${looked.durationSec.toFixed(1)} s`,
  ];
  lines.push('', ...hung('', facts.join(', '), columns));
  if (looked.shortened)
    lines.push(...hung('', `only the first ${MOST_SEC / 60} minutes were examined`, columns));
  return `${lines.join('\n')}\n`;
}

const capital = (text: string): string => `${text[0].toUpperCase()}${text.slice(1)}`;

function clock({ fromSec }: { readonly fromSec: number }): string {
  const minutes = Math.floor(fromSec / 60);
  return `${minutes}:${(fromSec - 60 * minutes).toFixed(1).padStart(4, '0')}`;
}
