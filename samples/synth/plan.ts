import type { PlayableNote } from '../../src/harp/types.ts';
import { type BesideReed, type HandMotion, plant, turnsOf } from './planted.ts';
import type { Rng } from './rng.ts';
import type { PlayingStyle } from './style.ts';
import type { TuneStep } from './tune.ts';

export type Start = 'silence' | 'breath' | 'tongue' | 'slur' | 'glide' | 'jump';

/** A wave on pitch or level that fades in after the note has settled. */
export interface Wave {
  readonly hz: number;
  /** Peak, in cents or dB. */
  readonly depth: number;
  readonly delaySec: number;
  readonly phase: number;
}

/** The level's dip at a tongued repeat: falls, stays for a share of the fall's time, rises from the note's beginning. */
interface Dip {
  readonly depthDb: number;
  readonly fallSec: number;
  readonly riseSec: number;
  readonly holdShare: number;
}

/** One note as it will be played. Times are seconds from the first sample. */
export interface PlannedNote {
  readonly note: PlayableNote;
  readonly start: Start;
  /** Where the player means it to begin: attack, middle of slur or glide, rise after a dip. */
  readonly beginSec: number;
  /** Where the air stops, or the next note takes over. */
  readonly endSec: number;
  readonly levelDb: number;
  /** Level change over the note (dB per second). */
  readonly swellDbPerSec: number;
  readonly attackSec: number;
  readonly releaseSec: number;
  /** Length of slur or glide into this note; 0 for other starts. */
  readonly joinSec: number;
  readonly dip: Dip | null;
  readonly offsetCents: number;
  readonly droopCents: number;
  readonly scoop: { readonly cents: number; readonly sec: number } | null;
  readonly vibrato: Wave | null;
  readonly tremolo: Wave | null;
  readonly driftCentsPerSec: number;
  readonly releaseRiseCents: number;
  readonly breathNoiseDb: number;
  readonly leak: { readonly note: PlayableNote; readonly levelDb: number; readonly cents: number } | null;
  /** Slides off at its end, `cents` down. */
  readonly fall: { readonly cents: number; readonly sec: number } | null;
  readonly hand: HandMotion | null;
  readonly beside: readonly BesideReed[];
  /** Of a shake: which of its turns this is, from 0; null for all other notes. */
  readonly turn: number | null;
}

const LEAD_IN_SEC = 0.4;
/** Shorter notes than this get no vibrato, tremolo or scoop. */
const ORNAMENT_MIN_SEC = 0.35;
/**
 * Reeds an octave lower take this much longer to speak (in real takes lower reeds speak more slowly; amount chosen by
 * ear).
 */
const ATTACK_PER_OCTAVE = 1.28;

const DIP_HOLD_SHARE = 0.3;
/** A player's force wanders with this time constant; no source, of the order of a phrase. */
const FORCE_WANDER_SEC = 4;
const MOST_FORCE_DB = 6;
const LEAST_FORCE_DB = -14;

/** Share of bends from the same hole that glide although the tab does not ask for it. */
const UNMARKED_GLIDE_SHARE = 0.4;

/** Seconds from the first sample to the end of the last note. */
export const planEndSec = (plan: readonly PlannedNote[]): number => plan.at(-1)?.endSec ?? LEAD_IN_SEC;

/**
 * Decides when and how each note of a tune is played.
 * @param playable every note of the harp
 * @throws Error when the tune asks for a note that the harp does not have
 */
export function planTake(
  steps: readonly TuneStep[],
  playable: readonly PlayableNote[],
  style: PlayingStyle,
  rng: Rng,
): PlannedNote[] {
  const beatSec = 60 / style.tempoBpm;
  const planned: PlannedNote[] = [];
  let clock = LEAD_IN_SEC;
  let broken = true;
  const forceDb = forceWander(style.forceWanderDb ?? 0, rng.fork('force'));

  const find = (hole: number, breath: string, bend: number, over: boolean): PlayableNote | undefined =>
    playable.find((n) => n.hole === hole && n.breath === breath && n.bend === bend && n.over === over);

  for (let index = 0; index < steps.length; index++) {
    const step = steps[index];
    if (step.kind === 'rest') {
      clock += step.beats * beatSec;
      broken = true;
      continue;
    }
    if (step.kind === 'phrase') {
      clock += rng.between(style.phrasePauseSec);
      broken = true;
      continue;
    }
    const note = find(step.hole, step.breath, step.bend, step.over);
    if (!note) throw new Error(`no ${step.breath} ${step.hole} bend ${step.bend} on this harp`);
    const before = planned.at(-1);
    let start = broken || !before ? 'silence' : startOf(before.note, note, step.joined, style, rng);
    if (start === 'tongue' && rng.chance(style.stopShare)) start = 'silence';

    const lengthSec = step.beats * beatSec;
    const sounds = steps[index + 1]?.kind === 'note' ? 1 : rng.between(style.legato);
    const shift = Math.max(-0.4 * lengthSec, Math.min(0.4 * lengthSec, rng.normal() * style.timingSec));
    const beginSec = Math.max(
      clock + (start === 'silence' && !before ? 0 : shift),
      (before?.beginSec ?? 0) + 0.06,
    );
    if (before && !broken) {
      const gap = start === 'breath' || start === 'silence' ? rng.between(style.gapSec) : 0;
      const jumpGap = start === 'jump' ? rng.between([0, 0.012]) : 0;
      planned[planned.length - 1] = {
        ...before,
        endSec: Math.max(before.beginSec + 0.05, beginSec - gap - jumpGap),
      };
    }
    const endSec = Math.max(beginSec + 0.06, clock + lengthSec * sounds);
    const drawn = ornament(note, start, beginSec, endSec, style, rng, find);
    const asked = rng.fork(`planted ${index}`);
    const played = plant({ ...drawn, levelDb: drawn.levelDb + forceDb(beginSec) }, step, asked, find);
    planned.push(...(step.shake ? turnsOf(played, step, asked, find) : [played]));
    clock += lengthSec;
    broken = false;
  }
  return planned;
}

/** How much harder or softer than usual the player blows; must be asked for in order of time. */
function forceWander(db: number, rng: Rng): (sec: number) => number {
  let value = db * rng.normal();
  let lastSec = 0;
  return (sec) => {
    if (db === 0) return 0;
    const kept = Math.exp(-(sec - lastSec) / FORCE_WANDER_SEC);
    value = kept * value + db * Math.sqrt(1 - kept * kept) * rng.normal();
    lastSec = sec;
    return Math.max(LEAST_FORCE_DB, Math.min(MOST_FORCE_DB, value));
  };
}

function startOf(
  from: PlayableNote,
  to: PlayableNote,
  joined: boolean,
  style: PlayingStyle,
  rng: Rng,
): Start {
  if (from.breath !== to.breath) return 'breath';
  if (from.hole === to.hole) {
    const samePitch = from.bend === to.bend && from.over === to.over;
    if (samePitch) return 'tongue';
    if (from.over || to.over) return 'silence';
    return joined || rng.chance(UNMARKED_GLIDE_SHARE) ? 'glide' : 'silence';
  }
  if (!joined && rng.chance(style.tongueShare)) return 'jump';
  return Math.abs(from.hole - to.hole) === 1 ? 'slur' : 'jump';
}

function ornament(
  note: PlayableNote,
  start: Start,
  beginSec: number,
  endSec: number,
  style: PlayingStyle,
  rng: Rng,
  find: (hole: number, breath: string, bend: number, over: boolean) => PlayableNote | undefined,
): PlannedNote {
  const lengthSec = endSec - beginSec;
  const octavesBelow = Math.log2(440 / note.f0Hz);
  const attackSec = rng.between(style.attackSec) * ATTACK_PER_OCTAVE ** octavesBelow * (note.over ? 1.4 : 1);
  const long = lengthSec >= ORNAMENT_MIN_SEC;
  const altered = note.bend > 0 || note.over;
  const scoops = long && start !== 'glide' && start !== 'tongue' && rng.chance(style.scoopShare);
  const delaySec = rng.between([0.1, 0.25]);
  const wave = (
    share: number,
    hz: readonly [number, number],
    depth: readonly [number, number],
    scale: number,
  ) =>
    long && rng.chance(share)
      ? {
          hz: rng.between(hz),
          depth: rng.between(depth) * scale,
          delaySec,
          phase: rng.between([0, 2 * Math.PI]),
        }
      : null;
  const dipSec = Math.min(rng.between(style.dipSec), lengthSec * 0.45);
  const riseShare = rng.between([0.25, 0.42]);
  return {
    note,
    start,
    beginSec,
    endSec,
    levelDb: rng.normal() * style.levelSpreadDb - (altered ? rng.between([0, 3]) : 0),
    swellDbPerSec: Math.max(-6, Math.min(3, rng.normal() * 2 - 0.5)),
    attackSec: Math.min(attackSec, lengthSec * 0.7),
    releaseSec: rng.between(style.releaseSec) * ATTACK_PER_OCTAVE ** octavesBelow,
    joinSec:
      start === 'slur'
        ? Math.min(rng.between(style.slurSec), lengthSec * 0.4)
        : start === 'glide'
          ? Math.min(rng.between(style.glideSec), lengthSec * 0.6)
          : 0,
    dip:
      start === 'tongue'
        ? {
            depthDb: rng.between(style.dipDb),
            fallSec: dipSec * (1 - riseShare),
            riseSec: dipSec * riseShare,
            holdShare: style.dipHoldShare ? rng.between(style.dipHoldShare) : DIP_HOLD_SHARE,
          }
        : null,
    offsetCents: altered
      ? rng.between(style.bendErrorCents)
      : Math.max(-25, Math.min(25, rng.normal() * style.intonationCents)),
    droopCents: rng.between(style.droopCents) * (start === 'slur' ? 0.3 : start === 'glide' ? 0 : 1),
    scoop: scoops
      ? { cents: rng.between(style.scoopCents), sec: Math.min(rng.between(style.scoopSec), lengthSec / 3) }
      : null,
    vibrato: wave(style.vibratoShare, style.vibratoHz, style.vibratoCents, 1),
    tremolo: wave(style.tremoloShare, style.tremoloHz, style.tremoloDb, 0.5),
    driftCentsPerSec: rng.between(style.driftCentsPerSec),
    releaseRiseCents: rng.between(style.releaseRiseCents),
    breathNoiseDb: rng.between(style.breathNoiseDb),
    leak: rng.chance(style.leakShare) ? leakBeside(note, style, rng, find) : null,
    fall: null,
    hand: null,
    beside: [],
    turn: null,
  };
}

/** The next hole's reed of the same breath, on one side or the other. */
function leakBeside(
  note: PlayableNote,
  style: PlayingStyle,
  rng: Rng,
  find: (hole: number, breath: string, bend: number, over: boolean) => PlayableNote | undefined,
): PlannedNote['leak'] {
  const side = rng.chance(0.5) ? 1 : -1;
  const beside =
    find(note.hole + side, note.breath, 0, false) ?? find(note.hole - side, note.breath, 0, false);
  if (!beside) return null;
  return { note: beside, levelDb: rng.between(style.leakDb), cents: rng.normal() * style.intonationCents };
}
