import { ReedtraceError } from '../../../errors.ts';
import type { NamedPart } from '../which-part.ts';
import { withAccents } from './accents.ts';

/** The lines of one tune: the file's header, up to `from.head`, and lines `from.tune` to just before `to`. */
export interface TuneLines {
  readonly from: { readonly head: number; readonly tune: number };
  readonly to: number;
  readonly remarks: readonly string[];
}

/** At most this many tunes are listed by name. */
const MOST_LISTED = 30;

/**
 * Finds the lines of one tune in a file of one or more.
 * @throws ReedtraceError E_USAGE if the file has no tune of that number
 */
export function chooseTune(lines: readonly string[], tune: number | undefined, name: string): TuneLines {
  const starts = lines.flatMap((line, i) => (/^X:/.test(line) ? [i] : []));
  const wanted = tune ?? 1;
  const end = lines.length;
  if (starts.length < 2 && wanted === 1) return { from: { head: 0, tune: 0 }, to: end, remarks: [] };
  const titles = starts.map((start, i) => {
    const title = lines.slice(start, starts[i + 1] ?? end).find((line) => /^T:/.test(line));
    return title === undefined ? 'without a title' : withAccents(title.slice(2).trim());
  });
  const list = titles.slice(0, MOST_LISTED).map((title, i) => `${i + 1} ${title}`);
  const listed = `${list.join(', ')}${titles.length > MOST_LISTED ? ', …' : ''}`;
  if (wanted > starts.length) {
    throw new ReedtraceError(
      'E_USAGE',
      `'${name}' has ${starts.length} ${starts.length === 1 ? 'tune' : 'tunes'}, so there is no tune ${wanted}`,
      `choose one with \`--tune\`: ${listed}`,
    );
  }
  const remark = `tune ${wanted} of ${starts.length} was read; choose another with --tune: ${listed}`;
  return {
    from: { head: starts[0], tune: starts[wanted - 1] },
    to: starts[wanted] ?? end,
    remarks: tune === undefined ? [remark] : [],
  };
}

/** The voices that a tune's `V:` fields name, in order. */
export function voicesOf(lines: readonly string[]): NamedPart[] {
  const voices = new Map<string, string | null>();
  for (const line of lines) {
    for (const [, value] of line.matchAll(/(?:^|\[)V:\s*([^\]%]+)/g)) {
      const id = value.trim().split(/\s/)[0];
      const name = /\b(?:name|nm)=(?:"([^"]*)"|(\S+))/.exec(value);
      voices.set(id, name?.[1] ?? name?.[2] ?? voices.get(id) ?? null);
    }
  }
  return [...voices].map(([id, name]) => ({ id, name }));
}
