import type { VerovioModule } from 'verovio/wasm';
import { ReedtraceError } from '../../errors.ts';
import { writeMusicXml } from '../musicxml/musicxml.ts';
import { type Bar, buildLines } from '../notation/bars.ts';
import type { Score, ScoreNote } from '../score.ts';
import type { Glyphs } from './marks.ts';
import { POINTS_PER_UNIT, readSystem, type System } from './read-system.ts';

/** What verovio engraved, and its messages. */
export interface Engraving {
  readonly systems: readonly System[];
  readonly glyphs: Glyphs;
  /** Warnings and errors of the engraver, one per line; empty when there are none. */
  readonly log: string;
}

export interface EngravingOptions {
  /** In points. */
  readonly width: number;
  /** Size of the staff relative to the engraver's own, which is 7.2 mm high. */
  readonly zoom: number;
  /**
   * Text as wide as the distance that a note needs from the next one of its line (null after the last), for what is
   * placed under both.
   */
  readonly spaceFor: (note: ScoreNote, next: ScoreNote | null) => string;
  /** Size in which `spaceFor` is set, in points. */
  readonly textSize: number;
  /** Stops engraving between two lines. */
  readonly signal?: AbortSignal | undefined;
}

/** Size of words relative to verovio's own unit, half a space of the staff: 0.9 mm. */
const TEXT_UNIT_POINTS = 90 * POINTS_PER_UNIT;
/** A line, or the rest of a broken one, that would fill less than this share of the width is not stretched. */
const SHORT_LINE = 0.2;
const SHORT_REST = 0.5;

/**
 * verovio while it is idle: loading it takes 0.5 s, and it is slow at first. An instance that logged anything is not
 * kept.
 */
let idle: VerovioModule | null = null;

/**
 * Engraves a score on a staff, each line of the tune by itself, in as many systems as it needs (verovio, loaded when first
 * needed).
 * @throws ReedtraceError E_MUSIC_INVALID when verovio can't read the score; E_INTERRUPTED
 */
export async function engrave(score: Score, options: EngravingOptions): Promise<Engraving> {
  const [{ default: createModule }, { VerovioToolkit, enableLog, enableLogToBuffer, LOG_WARNING }] =
    await Promise.all([import('verovio/wasm'), import('verovio/esm')]);
  const module = idle ?? (await createModule());
  idle = null;
  enableLog(LOG_WARNING, module);
  // Otherwise it prints to the console.
  enableLogToBuffer(true, module);
  const toolkit = new VerovioToolkit(module);
  try {
    toolkit.setOptions({
      pageWidth: Math.round(options.width / (10 * POINTS_PER_UNIT * options.zoom)),
      // Lower than any system, so that each gets a page of its own.
      pageHeight: 100,
      pageMarginTop: 0,
      pageMarginBottom: 0,
      pageMarginLeft: 0,
      pageMarginRight: 0,
      adjustPageHeight: true,
      header: 'none',
      footer: 'none',
      breaks: 'auto',
      mnumInterval: 0,
      minLastJustification: SHORT_LINE,
      lyricSize: Math.min(8, Math.max(2, options.textSize / (TEXT_UNIT_POINTS * options.zoom))),
      svgViewBox: true,
      xmlIdSeed: 1,
    });
    const glyphs = new Map<string, string>();
    const systems: System[] = [];
    for (const [line, bars] of buildLines(score).entries()) {
      await breathe(options.signal);
      if (!toolkit.loadData(xmlOfLine(score, bars, line === 0, options)))
        throw unreadable(score, toolkit.getLog());
      // Lines of one system all have the full width, so that the sheet looks even; the rest of a broken line may be
      // short.
      const broken = toolkit.getPageCount() > 1;
      if (broken) toolkit.redoLayout({ minLastJustification: SHORT_REST });
      for (let page = 1; page <= toolkit.getPageCount(); page++) {
        systems.push(readSystem(toolkit.renderToSVG(page), line, score.notes.length, options.zoom, glyphs));
      }
      if (broken) toolkit.setOptions({ minLastJustification: SHORT_LINE });
    }
    const log = toolkit.getLog().trim();
    if (log === '') idle = module;
    return { systems, glyphs, log };
  } finally {
    toolkit.destroy();
  }
}

/** Lets Ctrl-C through. */
async function breathe(signal: AbortSignal | undefined): Promise<void> {
  await new Promise<void>((resolve) => setImmediate(resolve));
  if (signal?.aborted) throw new ReedtraceError('E_INTERRUPTED', 'stopped', 'run the command again');
}

function xmlOfLine(
  score: Score,
  bars: readonly Bar[],
  first: boolean,
  { spaceFor }: EngravingOptions,
): string {
  const notes = bars.flatMap(({ symbols }) =>
    symbols.flatMap(({ note, tiedFrom }) => (note === null || tiedFrom ? [] : [note])),
  );
  const nextOf = new Map(notes.map((note, i) => [note, notes[i + 1] ?? null]));
  const part = { bars, first, spaceFor: (note: ScoreNote) => spaceFor(note, nextOf.get(note) ?? null) };
  return writeMusicXml(score, { style: 'signs', part });
}

function unreadable(score: Score, log: string): ReedtraceError {
  return new ReedtraceError(
    'E_MUSIC_INVALID',
    `'${score.title}' could not be engraved (${log.trim() || 'no reason given'})`,
    'export MusicXML instead and report this take',
  );
}
