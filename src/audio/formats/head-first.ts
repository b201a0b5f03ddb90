import { LIMITS, overLimit } from '../../limits.ts';
import type { ByteSource, ReadWatch } from '../source.ts';
import { damaged } from './refuse.ts';

/**
 * The file in order, with everything before its sound in the first piece: decoders that get a head in parts join and
 * read it again with each part.
 * @param headBytes length of the head
 * @throws ReedtraceError E_DAMAGED_AUDIO for a head beyond the limit
 */
export async function* headFirst(
  source: ByteSource,
  headBytes: number,
  watch: ReadWatch,
): AsyncGenerator<Uint8Array> {
  if (headBytes > LIMITS.containerHeadBytes.most) {
    throw damaged(source.file, `before its sound it has ${overLimit('containerHeadBytes', headBytes)}`);
  }
  const head: Uint8Array[] = [];
  let length = 0;
  for await (const chunk of source.chunks(watch)) {
    if (length >= headBytes) {
      yield chunk;
      continue;
    }
    head.push(chunk.slice());
    length += chunk.length;
    if (length >= headBytes) yield Buffer.concat(head.splice(0));
  }
  if (head.length > 0) yield Buffer.concat(head);
}
