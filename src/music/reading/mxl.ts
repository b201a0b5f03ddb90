import { strFromU8, unzipSync } from 'fflate';
import { decodeText, musicError } from './fault.ts';
import { first, LARGEST_BYTES, parseXml } from './xml.ts';

/**
 * The score inside a zipped MusicXML file (.mxl, MusicXML 4.0: the container names it); parts that are too large to be
 * a score are not unpacked.
 * @param name  what to call the file in an error
 * @throws ReedtraceError E_MUSIC_INVALID when it is damaged or holds no score
 */
export function unpackMxl(bytes: Uint8Array, name: string): string {
  try {
    const files = unzipSync(bytes, { filter: (file) => file.originalSize <= LARGEST_BYTES });
    const container = files['META-INF/container.xml'];
    const listed = container && first(parseXml(strFromU8(container), name), 'rootfiles', 'rootfile');
    const path = listed?.attributes['full-path'];
    const score = path === undefined ? undefined : files[path];
    if (score) return decodeText(score);
  } catch (cause) {
    throw musicError(name, 'is a damaged .mxl file', 'export it again, or as plain MusicXML', cause);
  }
  throw musicError(name, 'is a zip file without a score', 'export it again, or as plain MusicXML');
}
