import type { BendSummary } from '../../check/bends/summary.ts';

/** `; getting nearer by 4.2 ± 1.0 cents a week over 5 days`; nothing without a trend. */
export function trendInWords({ trend }: BendSummary): string {
  if (trend === null) return '';
  const { direction, perWeek, uncertainty, days } = trend;
  const size = `${Math.abs(perWeek).toFixed(1)} ± ${uncertainty.toFixed(1)} cents a week`;
  if (direction === 'none') return `; no clear change over ${days} days`;
  return `; getting ${direction === 'nearer' ? 'nearer' : 'further off'} by ${size} over ${days} days`;
}
