/** `1 note`, `3 notes`. */
export function counted(count: number, one: string, many = `${one}s`): string {
  return `${count} ${count === 1 ? one : many}`;
}

/** `one note`, `3 notes`, for sentences. */
export function countedInWords(count: number, one: string, many = `${one}s`): string {
  return count === 1 ? `one ${one}` : `${count} ${many}`;
}
