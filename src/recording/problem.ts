/** What can be wrong with a recording (other programs rely on these names). */
export const PROBLEM_KINDS = [
  'clipping',
  'gain-pumping',
  'hum',
  'clicks',
  'dropouts',
  'noise',
  'room',
  'bandwidth',
  'far',
  'cut-start',
  'cut-end',
  'talk',
  'accompaniment',
  'speed',
] as const;
export type ProblemKind = (typeof PROBLEM_KINDS)[number];

/** `slight` can be ignored; `severe` makes the measures that it affects worthless. */
export type Severity = 'slight' | 'marked' | 'severe';

/** What a problem makes worse or impossible to judge. */
type Measure =
  | 'notes'
  | 'repeated notes'
  | 'timing'
  | 'bends'
  | 'second reeds'
  | 'breath noise'
  | 'level'
  | 'tone';

/** A stretch of a recording, in seconds. */
export interface Span {
  readonly fromSec: number;
  readonly toSec: number;
}

/** What was found, before it is put into words. */
export interface Detected {
  readonly kind: ProblemKind;
  readonly severity: Severity;
  /** Where it is, in order, at least one; the whole recording when it is everywhere. */
  readonly places: readonly Span[];
  /** The measurement behind it, in words: `48 places`, `-31 dB`. */
  readonly how: string;
}

/** One problem of a recording. */
export interface Problem extends Span {
  readonly kind: ProblemKind;
  readonly severity: Severity;
  /** All stretches in which it occurs; the problem's own span covers them. */
  readonly places: readonly Span[];
  /** One sentence for the player. */
  readonly message: string;
  readonly spoils: readonly Measure[];
  /** What to do about it, one sentence. */
  readonly cure: string;
}

interface Words {
  readonly message: (how: string) => string;
  readonly spoils: readonly Measure[];
  readonly cure: string;
}

/** Cures are common practice in recording, no source. */
const WORDS: Readonly<Record<ProblemKind, Words>> = {
  clipping: {
    message: (how) => `the recording is too loud and the tops of the sound are cut off (${how})`,
    spoils: ['level', 'tone', 'second reeds'],
    cure: 'Turn the recording level down until the loudest note stays clear of the top, or hold the phone further away.',
  },
  'gain-pumping': {
    message: (how) => `the phone turns its own level up and down while you play (${how})`,
    spoils: ['level', 'tone', 'repeated notes', 'breath noise'],
    cure: 'Turn off automatic level and noise suppression, or use a recorder app that leaves the sound alone.',
  },
  hum: {
    message: (how) => `there is a hum from the mains (${how})`,
    spoils: ['breath noise', 'second reeds'],
    cure: 'Move away from lamps, chargers and fridges, and run the phone from its battery.',
  },
  clicks: {
    message: (how) => `there are clicks in the recording (${how})`,
    spoils: ['repeated notes', 'timing'],
    cure: 'Close other apps while you record, check the cable, and keep your fingers off the phone.',
  },
  dropouts: {
    message: (how) => `bits of the sound are missing (${how})`,
    spoils: ['notes', 'repeated notes', 'timing'],
    cure: 'Record to the phone itself rather than over a call or wireless headset, and close other apps.',
  },
  noise: {
    message: (how) => `the background noise is loud compared with your playing (${how})`,
    spoils: ['bends', 'second reeds', 'breath noise', 'tone'],
    cure: 'Find a quieter room, shut the window, or move the phone nearer: half a metre is about right.',
  },
  room: {
    message: (how) => `the room rings on for a long time (${how})`,
    spoils: ['repeated notes', 'timing', 'second reeds'],
    cure: 'Play in a room with curtains and a carpet, or open a wardrobe full of clothes behind you.',
  },
  bandwidth: {
    message: (how) => `the sound is as narrow as a phone call (${how})`,
    spoils: ['tone', 'second reeds', 'breath noise'],
    cure: 'Send a recording rather than a call or voice message, and choose the best quality the app offers.',
  },
  far: {
    message: (how) => `you are too far from the phone (${how})`,
    spoils: ['repeated notes', 'second reeds', 'breath noise', 'timing'],
    cure: 'Hold or stand the phone half a metre away, pointing at the harp.',
  },
  'cut-start': {
    message: () => 'the recording begins in the middle of a note',
    spoils: ['notes', 'timing'],
    cure: 'Start the recording, wait for two seconds, then play.',
  },
  'cut-end': {
    message: () => 'the recording ends in the middle of a note',
    spoils: ['notes', 'timing'],
    cure: 'Wait for two seconds after your last note, then stop the recording.',
  },
  talk: {
    message: (how) => `somebody talks in the recording (${how})`,
    spoils: ['notes'],
    cure: 'Record only your playing, and send what you want to say as a separate message.',
  },
  accompaniment: {
    message: (how) => `another instrument or a backing track plays along (${how})`,
    spoils: ['notes', 'second reeds', 'breath noise', 'bends'],
    cure: 'Play alone, or hear the backing through headphones, not too loud.',
  },
  speed: {
    message: (how) => `the recording seems to run at the wrong speed (${how})`,
    spoils: ['notes', 'bends', 'timing'],
    cure: 'Send the file as it was recorded, without converting it; if your harp really is tuned so, name its A4 with --a4.',
  },
};

/** Puts what was found into words. */
export function problemOf({ kind, severity, places, how }: Detected): Problem {
  const { message, spoils, cure } = WORDS[kind];
  return {
    kind,
    fromSec: places[0].fromSec,
    toSec: Math.max(...places.map(({ toSec }) => toSec)),
    severity,
    places,
    message: message(how),
    spoils,
    cure,
  };
}
