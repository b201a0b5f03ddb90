import type { TabStyle } from '../tab/text.ts';
import { formatTake } from '../take/format.ts';
import type { PageFindings } from './page/findings.ts';
import type { PageSound, TeacherSound } from './page/options.ts';
import type { Repeats } from './repeats.ts';
import type { Score } from './score.ts';
import type { Paper, Sheet } from './sheet/pages.ts';
import type { TabPlace } from './sheet/system-block.ts';

/** How a take is written; each format uses the options that concern it. */
export interface ExportOptions {
  readonly style: TabStyle;
  /** Longest line of tab, in columns. */
  readonly columns: number;
  /** Write lengths and rests in tab. */
  readonly lengths: boolean;
  /** How to write a line that is repeated note for note, in tab and on the sheet; in full if omitted. */
  readonly repeats?: Repeats;
  /** Write measured times and pitches in MIDI instead of written values. */
  readonly asPlayed: boolean;
  /** The recording for a page; null or missing for a page without sound. */
  readonly sound?: PageSound | null;
  /** The decimal sign in tables; a point if omitted. */
  readonly decimal?: 'point' | 'comma';
  /** Where tab is placed below a staff, on sheets and pages; in a row if omitted. */
  readonly place?: TabPlace;
  /** Paper size; one page as long as the tune if omitted. */
  readonly paper?: Paper;
  /** Who the tune is by, or `traditional`; null or missing for nothing. */
  readonly by?: string | null;
  /** What the teacher says about each line, the first at 0, for a page. */
  readonly advice?: ReadonlyMap<number, string>;
  /** The teacher's recording, for a page. */
  readonly teacher?: TeacherSound | null;
  /** What `check` found, for a page; null or missing when nothing was checked. */
  readonly findings?: PageFindings | null;
  /** Stops the work while a staff is engraved. */
  readonly signal?: AbortSignal;
}

/** One way to write a take. */
export interface ExportFormat {
  /** What follows the name of the take in the file name. */
  readonly extension: string;
  /** What it is, for `--help`. */
  readonly what: string;
  /** The content of the file; null when the take holds nothing for it (then `nothing` says what is missing). */
  write(score: Score, options: ExportOptions): Promise<string | Uint8Array | null>;
  readonly nothing?: string;
  /** The same for paper, one content per page, for formats without pages of their own. */
  writePages?(score: Score, options: ExportOptions): Promise<readonly string[]>;
  /** True if there is no place for words without a note. */
  readonly onlyUnderNotes?: boolean;
}

/**
 * The formats by their names in `--as`, in the order in which help lists them. Each loads its writer when it is used; a
 * new format needs one file and one row here.
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
    write: async (score, { style, by }) =>
      (await import('./musicxml/musicxml.ts')).writeMusicXml(score, { style, by: by ?? null }),
  },
  midi: {
    extension: '.mid',
    what: 'a MIDI file',
    write: async (score, { asPlayed }) => (await import('./midi.ts')).writeMidiFile(score, { asPlayed }),
  },
  abc: {
    extension: '.abc',
    what: 'ABC 2.1',
    write: async (score, { style, by }) =>
      (await import('./abc.ts')).writeAbc(score, { style, by: by ?? null }),
  },
  csv: {
    extension: '.csv',
    what: 'a table for spreadsheets, one row per note',
    write: async (score, { decimal }) => (await import('./csv.ts')).writeCsv(score, decimal),
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
    write: async (score, options) => (await pagesOf(score, { ...options, paper: 'long' }))[0],
    writePages: pagesOf,
  },
  pdf: {
    extension: '.pdf',
    what: 'the same sheet as PDF, to print',
    write: async (score, options) => {
      const { sheetPdf } = await import('./sheet/pdf.ts');
      return sheetPdf(await sheetOf(score, options));
    },
  },
  html: {
    extension: '.html',
    what: 'a page to send, with the recording in it',
    write: async (score, { style, place, sound, findings, by, advice, teacher, signal }) => {
      const [{ writeHtml }, { engraveForPage }] = await Promise.all([
        import('./page/page.ts'),
        import('./page/staff.ts'),
      ]);
      return writeHtml(score, {
        style,
        place: place ?? 'row',
        sound: sound ?? null,
        staff: await engraveForPage(score, style, signal),
        findings: findings ?? null,
        by: by ?? null,
        advice: advice ?? new Map(),
        teacher: teacher ?? null,
      });
    },
  },
  bends: {
    extension: '.bends.svg',
    what: 'a chart of how the bends compare with their targets',
    write: async (score, { style }) => (await import('./bends-svg.ts')).writeBendsSvg(score, { style }),
    nothing: 'no bends or overbends',
  },
} as const satisfies Readonly<Record<string, ExportFormat>>;

type SheetChoice = Pick<ExportOptions, 'style' | 'place' | 'paper' | 'by' | 'repeats' | 'signal'>;

async function sheetOf(score: Score, { paper, by, ...choice }: SheetChoice): Promise<Sheet> {
  const { composeSheet } = await import('./sheet/pages.ts');
  return composeSheet(score, { ...choice, paper: paper ?? 'a4', by: by ?? null });
}

async function pagesOf(score: Score, options: SheetChoice): Promise<readonly string[]> {
  const [{ pageSvg }, sheet] = await Promise.all([import('./sheet/svg.ts'), sheetOf(score, options)]);
  return sheet.pages.map((page) => pageSvg(sheet, page));
}

export type FormatName = keyof typeof FORMATS;

/** Other names for the same formats. */
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
