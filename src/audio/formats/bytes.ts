/** A DataView of the bytes. */
export function view(bytes: Uint8Array<ArrayBuffer>): DataView {
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}

/** Four characters that name a chunk. */
export function tag(bytes: DataView, at: number): string {
  return String.fromCharCode(
    bytes.getUint8(at),
    bytes.getUint8(at + 1),
    bytes.getUint8(at + 2),
    bytes.getUint8(at + 3),
  );
}
