import type { PlannedNote } from '../../../samples/synth/plan.ts';
import { planTake } from '../../../samples/synth/plan.ts';
import { renderTake } from '../../../samples/synth/render.ts';
import { seededRng } from '../../../samples/synth/rng.ts';
import { type Degradation, roughened } from '../../../samples/synth/scene/roughen.ts';
import { CLEAN, EVERYDAY, STUDENT } from '../../../samples/synth/style.ts';
import { randomTimbre } from '../../../samples/synth/timbre.ts';
import { truthHarp, truthNotes } from '../../../samples/synth/truth.ts';
import type { TuneStep } from '../../../samples/synth/tune.ts';
import { Samples } from '../../../src/audio/samples.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import type { HarpSpec, PlayableNote } from '../../../src/harp/types.ts';
import { transcribe } from '../../../src/pipeline.ts';
import type { ScoreTake } from './score-takes.ts';

/** Notes that were heard, and for each of them where in its bar it stands; null for one that was not played. */
export interface HeardTake {
  readonly notes: readonly { readonly onsetSec: number; readonly offsetSec: number; readonly midi: number }[];
  readonly inBarTicks: readonly (number | null)[];
}

/** How a take is rendered: a quiet room, a room, and a room by telephone. */
const SCENES: readonly { readonly style: typeof CLEAN; readonly rough: Degradation | null }[] = [
  { style: EVERYDAY, rough: null },
  { style: CLEAN, rough: { rt60: 0.4, drr: 6, snr: 28, noise: 'pink' } },
  { style: STUDENT, rough: { rt60: 0.3, drr: 8, snr: 30, noise: 'pink', phone: 'wide' } },
];
export const SCENE_COUNT = SCENES.length;
const KEYS = ['C', 'G', 'D', 'A', 'F', 'Bb', 'Eb', 'E', 'Ab', 'B', 'low F', 'low D'];
const RATE = 22_050;
const SAME_ONSET_SEC = 0.12;
/** A gap so long between two notes is a pause. */
const PAUSE_SEC = 0.06;

/** The harp on which a tune needs the fewest bends, and its notes there; null when no harp has them all. */
function harpFor(pitches: readonly number[]): { harp: HarpSpec; notes: PlayableNote[] } | null {
  let best: { harp: HarpSpec; notes: PlayableNote[]; bends: number } | null = null;
  for (const key of KEYS) {
    const harp: HarpSpec = { key, tuning: 'richter', temperament: 'equal', a4Hz: 440 };
    const playable = playableNotes(harp).filter(({ over }) => !over);
    const notes = pitches.flatMap((midi) => {
      const found = playable
        .filter((note) => Math.abs(note.midi - midi) < 0.5)
        .sort((a, b) => a.bend - b.bend)[0];
      return found === undefined ? [] : [found];
    });
    if (notes.length < pitches.length) continue;
    const bends = notes.filter(({ bend }) => bend > 0).length;
    if (best === null || bends < best.bends) best = { harp, notes, bends };
  }
  return best;
}

/** A take rendered in one of the scenes and transcribed, the harp told; null when no harp has its notes. */
export async function heardTake(take: ScoreTake, scene: number, seed: number): Promise<HeardTake | null> {
  const found = harpFor(take.notes.map(({ midi }) => midi));
  if (found === null) return null;
  const { harp, notes } = found;
  const rng = seededRng(seed).fork('heard');
  const { style, rough } = SCENES[scene];
  const steps = notes.flatMap((note, i): TuneStep[] => {
    const { hole, breath, bend } = note;
    const played: TuneStep = { kind: 'note', hole, breath, bend, over: false, beats: 1, joined: false };
    // A pause is silent: without a rest the note before it would be slurred or tongued into the next one.
    const pauses = i > 0 && take.notes[i].onsetSec - take.notes[i - 1].offsetSec >= PAUSE_SEC;
    return pauses ? [{ kind: 'rest', beats: 1 }, played] : [played];
  });
  // How each note begins and sounds is the player's; when it does was played already.
  const plan = planTake(steps, playableNotes(harp), style, rng.fork('plan')).map((note, i): PlannedNote => {
    const { onsetSec, offsetSec } = take.notes[i];
    return { ...note, beginSec: onsetSec, endSec: offsetSec };
  });
  const clean = renderTake(plan, randomTimbre(rng.fork('timbre')), RATE, rng.fork('render'));
  const truth = {
    audio: '',
    harp: truthHarp(harp, playableNotes(harp)),
    category: '',
    seed,
    tab: '',
    tempoBpm: take.tempoBpm,
    degradation: {},
    talkSec: [],
    notes: truthNotes(clean, harp.a4Hz),
  };
  const rendered = { samples: clean.samples, sampleRate: RATE, truth };
  const { samples } = rough === null ? rendered : roughened(rendered, rough, rng.fork('rough'));
  const heard = await transcribe(Samples.from(samples, RATE), { harp: harp.key });
  return { notes: heard.notes, inBarTicks: placesOf(heard.notes, take) };
}

/** Each heard note takes the place of the one played nearest to it. */
function placesOf(heard: HeardTake['notes'], { notes, inBarTicks }: ScoreTake): (number | null)[] {
  const taken = new Set<number>();
  return heard.map(({ onsetSec }) => {
    let nearest = -1;
    for (const [i, played] of notes.entries()) {
      const away = Math.abs(played.onsetSec - onsetSec);
      if (taken.has(i) || away > SAME_ONSET_SEC) continue;
      if (nearest < 0 || away < Math.abs(notes[nearest].onsetSec - onsetSec)) nearest = i;
    }
    if (nearest < 0) return null;
    taken.add(nearest);
    return inBarTicks[nearest];
  });
}
