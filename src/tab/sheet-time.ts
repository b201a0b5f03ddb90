/** A moment as minutes and seconds in brackets, so that it can't be taken for tab: `[0:12]`, `[1:02:03]`. */
export function formatTime(sec: number): string {
  const whole = Math.floor(sec);
  const seconds = String(whole % 60).padStart(2, '0');
  const minutes = Math.floor(whole / 60) % 60;
  const hours = Math.floor(whole / 3600);
  return hours > 0 ? `[${hours}:${String(minutes).padStart(2, '0')}:${seconds}]` : `[${minutes}:${seconds}]`;
}
