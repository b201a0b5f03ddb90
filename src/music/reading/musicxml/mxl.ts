import { strFromU8, unzipSync } from 'fflate';
import { ReedtraceError } from '../../../errors.ts';
import { LIMITS, tooLarge } from '../../../limits.ts';
import { decodeText } from '../../../text/decode-text.ts';
import { musicError } from '../fault.ts';
import { first, parseXml } from './xml.ts';

const CONTAINER = 'META-INF/container.xml';

/**
 * The score inside a zipped MusicXML file (.mxl); MusicXML 4.0 names it in the container. Nothing else is unpacked.
 * @param name  what to call the file in an error
 * @throws ReedtraceError E_MUSIC_INVALID if it is damaged or has no score; E_TOO_LARGE
 */
export function unpackMxl(bytes: Uint8Array, name: string): string {
  try {
    const container = unpackMember(bytes, CONTAINER, name);
    const listed = container && first(parseXml(strFromU8(container), name), 'rootfiles', 'rootfile');
    const path = listed?.attributes['full-path'];
    const score = path === undefined ? undefined : unpackMember(bytes, path, name);
    if (score) return decodeText(score);
  } catch (cause) {
    if (cause instanceof ReedtraceError && cause.code === 'E_TOO_LARGE') throw cause;
    throw musicError(name, 'is a damaged .mxl file', 'export it again, or as plain MusicXML', cause);
  }
  throw musicError(name, 'is a zip file without a score', 'export it again, or as plain MusicXML');
}

/** One file of an archive; undefined if it has none of that name. Of several with the same name, the last. */
function unpackMember(bytes: Uint8Array, path: string, archive: string): Uint8Array | undefined {
  const limit = (what: 'archiveMembers' | 'tuneBytes', value: number): void => {
    if (value > LIMITS[what].most) throw tooLarge(archive, 'has', what, value, 'export one part only');
  };
  let members = 0;
  let unpackedBytes = 0;
  const files = unzipSync(bytes, {
    filter: ({ name, originalSize }) => {
      limit('archiveMembers', ++members);
      if (name !== path) return false;
      unpackedBytes += originalSize;
      limit('tuneBytes', unpackedBytes);
      return true;
    },
  });
  return files[path];
}
