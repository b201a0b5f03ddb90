/**
 * The URL of a module in the same folder as another, compiled or not.
 * @param url `import.meta.url` of the other module
 */
export function moduleBeside(url: string, name: string): URL {
  return new URL(url.replace(/[^/]+(\.[jt]s)$/, `${name}$1`));
}
