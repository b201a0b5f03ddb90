/** Pieces of sound one after another. */
export function concatenate(parts: readonly Float32Array[]): Float32Array<ArrayBuffer> {
  const out = new Float32Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}
