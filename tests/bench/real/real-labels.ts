import { readdirSync, readFileSync } from 'node:fs';
import { basename, extname, join } from 'node:path';

/** One event of a real recording, as somebody labelled it from spectrogram and pitch track. */
export interface RealEvent {
  readonly onsetSec: number;
  readonly offsetSec: number;
  /** Pitch of the melody note, measured over its held part. */
  readonly f0Hz: number;
  /** MIDI number of the melody note; `f0Hz` may lie beside it, since harps and bends do. */
  readonly nominalMidi: number;
  /** MIDI numbers of every reed within 10 dB of the loudest. */
  readonly sounding: readonly number[];
  readonly kind: 'single' | 'together' | 'shake';
  /** False: nobody can tell; the span is left out of every count. */
  readonly sure: boolean;
  /** MIDI numbers that count neither way. */
  readonly maybe?: readonly number[];
  /** Where an onset is soft: the tolerance to use instead of 50 ms. */
  readonly onsetTolSec?: number;
}

/** A labelled recording of a player. The recording itself is not in the repository. */
export interface RealLabel {
  /** Name of the recording; a copy with another ending does as well. */
  readonly audio: string;
  /** Where the recording comes from: repository, commit and path. */
  readonly source: string;
  readonly licence: string;
  /** Whose playing it is, as far as the source tells; clips of one player are in one half. */
  readonly player: string;
  /** `report`: never tuned on, and never shown clip by clip. */
  readonly use: 'develop' | 'report';
  readonly harpKey: string | null;
  readonly harpSure: boolean;
  readonly notes: readonly RealEvent[];
}

/** A label with the recording that it is of. */
export interface RealClip {
  readonly label: RealLabel;
  readonly path: string;
}

const AUDIO = new Set(['.wav', '.flac', '.mp3', '.ogg', '.m4a', '.opus']);
const stem = (name: string): string => basename(name, extname(name));

/** Every label of a folder, by name. */
export function loadRealLabels(folder: string): RealLabel[] {
  return readdirSync(folder)
    .filter((name) => name.endsWith('.json'))
    .sort()
    .map((name) => JSON.parse(readFileSync(join(folder, name), 'utf8')) as RealLabel);
}

/** The labels whose recording lies in one of the folders, by name and whatever its ending. */
export function clipsIn(folders: readonly string[], labels: readonly RealLabel[]): RealClip[] {
  const paths = new Map<string, string>();
  for (const folder of folders) {
    for (const name of readdirSync(folder).sort()) {
      if (AUDIO.has(extname(name).toLowerCase()) && !paths.has(stem(name)))
        paths.set(stem(name), join(folder, name));
    }
  }
  return labels.flatMap((label) => {
    const path = paths.get(stem(label.audio));
    return path === undefined ? [] : [{ label, path }];
  });
}
