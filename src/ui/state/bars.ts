import type { UiState } from './state.ts';

/** Tempo and metre of a take: `96 to the minute, 3/4`. */
export function barsInWords({ edited }: UiState): string {
  const { beats } = edited.take;
  if (beats.notes === undefined) return 'no beats yet';
  const { tempoBpm, metre, pickupTicks, ticksPerBeat } = beats;
  if (metre === null) return 'free time';
  const pickup = pickupTicks > 0 ? `, pick-up of ${+(pickupTicks / ticksPerBeat).toFixed(2)} beats` : '';
  return `${Math.round(tempoBpm)} to the minute, ${metre.count}/${metre.unit}${pickup}`;
}
