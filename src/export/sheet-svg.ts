import { ReedtraceError } from '../errors.ts';
import type { TabStyle } from '../tab/text.ts';
import { writeMusicXml } from './musicxml.ts';
import type { Score } from './score.ts';

/** Width of the page in verovio's units, a tenth of a millimetre at 100 %. */
const PAGE_WIDTH = 2100;
/** Verovio's longest page; the picture is cut to what is on it. */
const PAGE_HEIGHT = 60000;
const SCALE_PERCENT = 40;
/** Element ids in the picture come from this seed, so that the same take gives the same picture. */
const ID_SEED = 1;

/** What verovio engraved, and what it had to say. */
export interface Engraving {
  readonly svg: string;
  /** Warnings and errors of the engraver, one a line; empty when there are none. */
  readonly log: string;
}

/**
 * A score engraved on a staff, with tab and words below it, as one SVG picture (verovio, loaded when first needed).
 * @throws ReedtraceError E_MUSIC_INVALID when verovio can't read the score
 */
export async function engrave(score: Score, options: { readonly style: TabStyle }): Promise<Engraving> {
  const [{ default: createModule }, { VerovioToolkit, enableLog, enableLogToBuffer, LOG_WARNING }] =
    await loadVerovio();
  const module = await createModule();
  enableLog(LOG_WARNING, module);
  // It prints to the console otherwise.
  enableLogToBuffer(true, module);
  const toolkit = new VerovioToolkit(module);
  try {
    toolkit.setOptions({
      pageWidth: PAGE_WIDTH,
      pageHeight: PAGE_HEIGHT,
      adjustPageHeight: true,
      scale: SCALE_PERCENT,
      footer: 'none',
      header: 'auto',
      breaks: 'auto',
      xmlIdSeed: ID_SEED,
      svgViewBox: true,
    });
    if (!toolkit.loadData(writeMusicXml(score, { ...options, tabAs: 'lyric' }))) {
      throw new ReedtraceError(
        'E_MUSIC_INVALID',
        `'${score.title}' could not be engraved (${toolkit.getLog().trim() || 'no reason given'})`,
        'export MusicXML instead and report this take',
      );
    }
    return { svg: `${toolkit.renderToSVG(1)}\n`, log: toolkit.getLog().trim() };
  } finally {
    toolkit.destroy();
  }
}

async function loadVerovio() {
  return Promise.all([import('verovio/wasm'), import('verovio/esm')]);
}
