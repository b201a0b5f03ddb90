/** A time as minutes and seconds: `0:07`, `12:30`. */
export function clock(sec: number): string {
  const whole = Math.floor(sec);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}

/** A time to the hundredth of a second: `0:07.25`. */
export function fineClock(sec: number): string {
  const hundredths = Math.round(sec * 100);
  const rest = hundredths % 6000;
  return `${Math.floor(hundredths / 6000)}:${String(Math.floor(rest / 100)).padStart(2, '0')}.${String(rest % 100).padStart(2, '0')}`;
}
