import { chartRows, chartText } from '../../harp/chart.ts';
import { chartSvg } from '../../harp/chart-svg.ts';
import {
  type HarpKey,
  harpKeyAt,
  KEY_NAMES,
  keyFromLabel,
  parseHarpKey,
  printedLabel,
} from '../../harp/keys.ts';
import { type Layout, layoutById } from '../../harp/layouts.ts';
import { noteName, scaleDegree } from '../../harp/names.ts';
import { playableNotes } from '../../harp/playable.ts';
import { parsePosition, positionName, tonicOfPosition } from '../../harp/positions.ts';
import { temperamentById } from '../../harp/temperaments.ts';
import type { CustomHarp, HarpSpec, PlayableNote } from '../../harp/types.ts';
import { ISO_A4_HZ } from '../../units.ts';
import { type HarpArguments, readHarpOptions } from '../options/harp.ts';

/** What a cell of the chart shows. */
export type ChartContent = 'notes' | 'degrees' | 'hz';

/** A harp with everything that its chart shows. */
export interface HarpDescription {
  readonly spec: HarpSpec;
  readonly layout: Layout;
  readonly temperamentName: string;
  readonly notes: readonly PlayableNote[];
  readonly position: number;
  /** Pitch class of the keynote in that position. */
  readonly tonic: number;
}

/**
 * Works out the harp that the arguments name.
 * @param key  undefined for the key that a custom tuning is written in, or C
 * @throws ReedtraceError E_HARP, E_TUNING, E_NOT_FOUND, E_USAGE
 */
export async function describeHarp(
  key: string | undefined,
  options: HarpArguments & { readonly printed?: boolean; readonly position?: string },
): Promise<HarpDescription> {
  const named = await readHarpOptions(options);
  const custom: CustomHarp = named.custom ?? {};
  const layout = custom.layout ?? layoutById(named.tuning ?? 'richter');
  const temperament = custom.temperament ?? temperamentById(named.temperament ?? 'equal');
  const harp =
    key === undefined ? defaultKey(layout) : options.printed ? keyFromLabel(key, layout) : parseHarpKey(key);
  const spec: HarpSpec = {
    key: harp.key,
    tuning: layout.id,
    temperament: temperament.id,
    a4Hz: named.a4Hz ?? ISO_A4_HZ,
  };
  const position = options.position === undefined ? 1 : parsePosition(options.position);
  return {
    spec,
    layout,
    temperamentName: temperament.name,
    notes: playableNotes(spec, custom),
    position,
    tonic: tonicOfPosition(position, harp.tonicMidi),
  };
}

/** The key in which a custom tuning is written, otherwise C. */
function defaultKey(layout: Layout): HarpKey {
  const written = layout.writtenTonicMidi === undefined ? null : harpKeyAt(layout.writtenTonicMidi);
  return written ?? parseHarpKey('C');
}

/** The chart as text, below a line that describes the harp. */
export function harpText(harp: HarpDescription, content: ChartContent): string {
  const rows = chartRows(harp.notes);
  return `${title(harp)}\n${remarks(harp, content).join('\n')}\n\n${chartText(rows, shower(harp, content))}`;
}

/** The chart as an SVG document. */
export function harpSvg(harp: HarpDescription, content: ChartContent): string {
  const text = `${title(harp)}: ${remarks(harp, content)[0]}`;
  return chartSvg(chartRows(harp.notes), { title: text, show: shower(harp, content) });
}

/** The `harp` document: `notes: [{ hole, breath, bend, over, midi, name, hz, degree }]`. */
export function harpJson(harp: HarpDescription): string {
  const { spec, layout, position, tonic } = harp;
  const document = {
    format: 'reedtrace-harp',
    version: 1,
    harp: { ...spec, printed: printedLabel(spec.key, layout) },
    position,
    tonic: KEY_NAMES[tonic],
    notes: harp.notes.map(({ hole, breath, bend, over, midi, f0Hz }) => ({
      hole,
      breath,
      bend,
      over,
      midi,
      name: noteName(midi, tonic),
      hz: Number(f0Hz.toFixed(3)),
      degree: scaleDegree(midi, tonic),
    })),
  };
  return `${JSON.stringify(document, null, 2)}\n`;
}

function title({ spec, layout }: HarpDescription): string {
  const printed = printedLabel(spec.key, layout);
  const label = printed === spec.key ? '' : `, printed ${printed}`;
  return `${spec.key} harp, ${layout.name} (hole-1 blow ${spec.key.replace(/^(low|high) /, '')}${label})`;
}

function remarks(harp: HarpDescription, content: ChartContent): string[] {
  const keynote = `${positionName(harp.position)}, keynote ${KEY_NAMES[harp.tonic]}`;
  const what = { notes: `notes, ${keynote}`, degrees: `scale degrees, ${keynote}`, hz: 'frequencies in Hz' };
  return [what[content], `A4 = ${harp.spec.a4Hz} Hz, ${harp.temperamentName} temperament`];
}

function shower(harp: HarpDescription, content: ChartContent): (note: PlayableNote) => string {
  switch (content) {
    case 'notes':
      return ({ midi }) => noteName(midi, harp.tonic);
    case 'degrees':
      return ({ midi }) => scaleDegree(midi, harp.tonic);
    case 'hz':
      return ({ f0Hz }) => f0Hz.toFixed(1);
  }
}
