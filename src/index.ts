/**
 * Reedtrace for other programs: the same stages that the commands use (take/README.md). Names that are not
 * exported here may change at any time.
 */

export { type ReadOptions, type Recording, readRecording } from './audio/read.ts';
export { Samples } from './audio/samples.ts';
export { type ErrorCode, ReedtraceError } from './errors.ts';
export { type ExportFormat, type ExportOptions, FORMATS, type FormatName } from './export/formats.ts';
export type { PageSound } from './export/page/options.ts';
export { buildScore, type Score } from './export/score.ts';
export { parseHarpKey } from './harp/keys.ts';
export { playableNotes } from './harp/playable.ts';
export type { Breath, CustomHarp, HarpSpec, PlayableNote } from './harp/types.ts';
export { pitchContours } from './measure/pitch-contour.ts';
export type { Phrase } from './music/phrases.ts';
export { STAGES, type TranscribeOptions, type Transcription, transcribe } from './pipeline.ts';
export { encodeMp3, type Mp3 } from './sound/mp3.ts';
export type { Note, NoteAlternative, NoteIntonation, NoteLeak, NoteStart } from './tab/note.ts';
export type { NoteOrnament, Ornamented, OrnamentKind } from './tab/ornament.ts';
export { ornamentsOf } from './tab/ornament.ts';
export { formatSheet } from './tab/sheet.ts';
export type { TabNote } from './tab/tab-note.ts';
export { formatTabNote, parseTabToken, type TabStyle } from './tab/text.ts';
export { readTake, writeTake } from './take/files/store.ts';
export { formatTake } from './take/format.ts';
export { parseTake } from './take/parse.ts';
export type { Take } from './take/schema.ts';
export { buildTake } from './take/take.ts';
