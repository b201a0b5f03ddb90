/*
 * Loader hooks for run.ts: `pipeline.js?change=N` is the pipeline with the N-th change. Modules that the change can reach
 * are loaded anew, all others are shared, and stay compiled.
 */
let changes = [];
let reached = [];

export function initialize(data) {
  ({ changes, reached } = data);
}

export async function resolve(specifier, context, next) {
  const resolved = await next(specifier, context);
  const number = /[?&]change=(\d+)/.exec(context.parentURL ?? '')?.[1];
  if (number === undefined || !reached[changes[number].file]?.includes(resolved.url)) return resolved;
  return { ...resolved, url: `${resolved.url}?change=${number}` };
}

export async function load(url, context, next) {
  const number = /[?&]change=(\d+)/.exec(url)?.[1];
  const loaded = await next(url, context);
  if (number === undefined) return loaded;
  const { url: changed, start, end, text } = changes[number];
  if (url.split('?')[0] !== changed) return loaded;
  const source = Buffer.from(loaded.source).toString('utf8');
  return { ...loaded, source: source.slice(0, start) + text + source.slice(end) };
}
