/**
 * The module of this name beside another, compiled or not.
 * @param url `import.meta.url` of the other
 */
export function moduleBeside(url: string, name: string): URL {
  return new URL(url.replace(/[^/]+(\.[jt]s)$/, `${name}$1`));
}
