/**
 * The sound of one piece: an array for each channel, all of the same length; no arrays if the piece yielded nothing
 * yet.
 */
export interface DecodedSound {
  readonly channelData: readonly Float32Array[];
  readonly sampleRate: number;
}
