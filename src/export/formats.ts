import type { TabStyle } from '../tab/text.ts';
import { formatTake } from '../take/schema.ts';
import type { PageFindings } from './page/findings.ts';
import type { PageSound } from './page/page.ts';
import type { Score } from './score.ts';

/** What is said of how a take is written; each format takes what concerns it. */
export interface ExportOptions {
  readonly style: TabStyle;
  /** Longest line of tab, in columns. */
  readonly columns: number;
  /** Lengths and rests in tab. */
  readonly lengths: boolean;
  /** Times and pitches as measured in MIDI, instead of written values. */
  readonly asPlayed: boolean;
  /** The recording for a page; null or missing for a page without sound. */
  readonly sound?: PageSound | null;
  /** What `check` found, for a page; null or missing when nothing was checked. */
  readonly findings?: PageFindings | null;
}

/** One way to write a take. */
export interface ExportFormat {
  /** What follows the take's name in the file's name. */
  readonly extension: string;
  /** What it is, for `--help`. */
  readonly what: string;
  /** The content of the file; null when the take holds nothing for it (then `nothing` says what is missing). */
  write(score: Score, options: ExportOptions): Promise<string | Uint8Array | null>;
  readonly nothing?: string;
  /** True where words that found no note have no place. */
  readonly onlyUnderNotes?: boolean;
}

/**
 * The formats by the names that `--as` takes, in the order in which help lists them. Each loads its writer when it is
 * used; a new format is one file and one row here.
 */
export const FORMATS = {
  tab: {
    extension: '.txt',
    what: 'plain tab with bar lines and words',
    write: async (score, options) => (await import('./tab.ts')).writeTab(score, options),
  },
  musicxml: {
    extension: '.musicxml',
    what: 'MusicXML 4.0 for notation programs',
    write: async (score, { style }) =>
      (await import('./musicxml.ts')).writeMusicXml(score, { style, tabAs: 'fingering' }),
  },
  midi: {
    extension: '.mid',
    what: 'a MIDI file',
    write: async (score, { asPlayed }) => (await import('./midi.ts')).writeMidiFile(score, { asPlayed }),
  },
  abc: {
    extension: '.abc',
    what: 'ABC 2.1',
    write: async (score, { style }) => (await import('./abc.ts')).writeAbc(score, { style }),
  },
  csv: {
    extension: '.csv',
    what: 'a table for spreadsheets, a row a note',
    write: async (score) => (await import('./csv.ts')).writeCsv(score),
    onlyUnderNotes: true,
  },
  json: {
    extension: '.json',
    what: 'the take itself, with beats and words',
    write: async ({ take, beats }) => formatTake({ ...take, beats }),
  },
  svg: {
    extension: '.svg',
    what: 'a sheet with staff, tab and words',
    write: async (score, { style }) => (await (await import('./sheet-svg.ts')).engrave(score, { style })).svg,
    onlyUnderNotes: true,
  },
  html: {
    extension: '.html',
    what: 'a page to send, with the recording in it',
    write: async (score, { style, sound, findings }) => {
      const [{ writeHtml }, { engrave }] = await Promise.all([
        import('./page/page.ts'),
        import('./sheet-svg.ts'),
      ]);
      const { svg } = await engrave(score, { style });
      return writeHtml(score, {
        style,
        sound: sound ?? null,
        staffSvg: svg,
        findings: findings ?? null,
      });
    },
  },
  bends: {
    extension: '.bends.svg',
    what: 'a chart of how the bends lie against their targets',
    write: async (score, { style }) => (await import('./bends-svg.ts')).writeBendsSvg(score, { style }),
    nothing: 'no bends or overbends',
  },
} as const satisfies Readonly<Record<string, ExportFormat>>;

export type FormatName = keyof typeof FORMATS;

/** Other words for the same formats. */
const ALIASES: Readonly<Record<string, FormatName>> = {
  txt: 'tab',
  text: 'tab',
  xml: 'musicxml',
  mid: 'midi',
};

/** The format of this name; undefined when there is none. */
export function formatNamed(name: string): FormatName | undefined {
  const lower = name.trim().toLowerCase();
  const named = ALIASES[lower] ?? lower;
  return Object.hasOwn(FORMATS, named) ? (named as FormatName) : undefined;
}
