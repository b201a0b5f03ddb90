/** Sound of one piece: an array for each channel, all of one length; none when the piece gave nothing yet. */
export interface DecodedSound {
  readonly channelData: readonly Float32Array[];
  readonly sampleRate: number;
}
