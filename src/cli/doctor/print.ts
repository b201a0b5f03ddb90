import type { Finding } from './examine.ts';

/** One line per finding, what to do below it, and a summary. */
export function doctorText(findings: readonly Finding[]): string {
  const width = Math.max(...findings.map(({ what }) => what.length));
  const lines = findings.flatMap(({ what, state, said, fix }) => [
    `${state === 'fine' ? 'ok     ' : 'missing'}  ${what.padEnd(width)}  ${said}`,
    ...(fix === undefined ? [] : [`${''.padEnd(width + 11)}do: ${fix}`]),
  ]);
  const missing = findings.filter(({ state }) => state === 'missing').length;
  const sum =
    missing === 0
      ? 'Everything is in place. Start with `reedtrace transcribe take.wav --harp C`.'
      : `${missing} of ${findings.length} ${missing === 1 ? 'is' : 'are'} missing.`;
  return `${lines.join('\n')}\n\n${sum}\n`;
}
