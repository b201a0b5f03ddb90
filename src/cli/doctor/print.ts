import type { Finding } from './examine.ts';

/** A line for each thing, what to do below it, and the sum of all. */
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
