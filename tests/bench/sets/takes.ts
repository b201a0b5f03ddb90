import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import type { HarpSpec } from '../../../src/harp/types.ts';
import type { Span } from '../scores/error-kinds.ts';
import type { TabbedNote } from '../scores/metrics.ts';

/** One note of a recording's truth. */
export interface ReferenceNote extends TabbedNote {
  readonly leak: { readonly hole: number; readonly dB: number } | null;
  readonly sustainSec: Span;
  /** MIDI number of the note that hole, breath and bend stand for. */
  readonly nominalMidi: number;
}

/** A recording whose truth is known. */
export interface LabelledTake {
  readonly path: string;
  readonly category: string;
  readonly harp: HarpSpec;
  readonly notes: readonly ReferenceNote[];
  readonly talkSec: readonly Span[];
}

interface TruthFile {
  readonly audio: string;
  readonly category?: string;
  readonly talkSec?: readonly Span[];
  readonly degradation?: Readonly<Record<string, unknown>>;
  readonly harp: {
    readonly key: string;
    readonly layout: string;
    readonly temperament: string;
    readonly a4Hz: number;
  };
  readonly notes: readonly ReferenceNote[];
}

/** Other names for tunings in truth files from elsewhere. */
const TUNING_ALIASES: Readonly<Record<string, string>> = { raised3: 'raised-third' };

/** Every labelled recording in a folder, by name; empty when there is none. */
export function loadTakes(folder: string): LabelledTake[] {
  return readdirSync(folder)
    .filter((name) => name.endsWith('.json') && !name.endsWith('.take.json'))
    .sort()
    .flatMap((name) => {
      const truth = JSON.parse(readFileSync(join(folder, name), 'utf8')) as Partial<TruthFile>;
      if (!truth.audio || !truth.harp || !Array.isArray(truth.notes)) return [];
      const path = join(folder, truth.audio);
      return existsSync(path) ? [labelled(path, truth as TruthFile)] : [];
    });
}

function labelled(path: string, truth: TruthFile): LabelledTake {
  const { key, layout, temperament, a4Hz } = truth.harp;
  return {
    path,
    category: truth.category ?? guessCategory(basename(path), truth),
    harp: { key, tuning: TUNING_ALIASES[layout] ?? layout, temperament, a4Hz },
    notes: truth.notes,
    talkSec: truth.talkSec ?? [],
  };
}

/** For truth without a category: by what was done to the recording, then by what is played. */
function guessCategory(name: string, truth: TruthFile): string {
  const faults = truth.degradation ?? {};
  if ('codec' in faults) return 'lifelike';
  if (Object.keys(faults).length > 0) return 'rough';
  if (truth.harp.layout !== 'richter' || truth.harp.temperament !== 'equal' || truth.harp.a4Hz !== 440)
    return 'tunings';
  if (truth.notes.some((note) => note.over)) return 'overbends';
  if (truth.notes.filter((note) => note.leak).length > truth.notes.length / 8) return 'leaky';
  if (truth.notes.filter((note) => note.bend > 0).length > truth.notes.length / 8) return 'bends';
  if (name.includes('fast')) return 'fast';
  if (name.includes('long')) return 'ballad';
  return 'clean';
}

/** Recordings without playing in a folder's `no-playing`; empty when there is none. */
export function loadNoPlaying(folder: string): string[] {
  const inner = join(folder, 'no-playing');
  return existsSync(inner)
    ? readdirSync(inner)
        .sort()
        .map((name) => join(inner, name))
    : [];
}
