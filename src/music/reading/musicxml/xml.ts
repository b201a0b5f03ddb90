import { XMLParser, XMLValidator } from 'fast-xml-parser';
import { LIMITS, tooLarge } from '../../../limits.ts';
import { shortened } from '../../../plain-text.ts';
import { musicError } from '../fault.ts';

/** An element of an XML document: name, attributes, children in order, own text. */
export interface Element {
  readonly name: string;
  readonly attributes: Readonly<Record<string, string>>;
  readonly children: readonly Element[];
  readonly text: string;
}

/** Errors quote this many characters of the parser's message, which may list all open elements. */
const LONGEST_REASON = 120;

/** Root element of an XML text. @throws ReedtraceError E_MUSIC_INVALID */
export function parseXml(text: string, name: string): Element {
  if (text.length > LIMITS.tuneBytes.most) {
    throw tooLarge(name, 'has', 'tuneBytes', text.length, 'export one part only');
  }
  const fault = XMLValidator.validate(text);
  if (fault !== true) {
    const { msg, line, col } = fault.err;
    throw musicError(
      name,
      `is not MusicXML (line ${line}, column ${col}: ${shortened(msg, LONGEST_REASON)})`,
      'export it again',
    );
  }
  try {
    const parser = new XMLParser({
      preserveOrder: true,
      ignoreAttributes: false,
      attributeNamePrefix: '',
      parseTagValue: false,
      trimValues: false,
      ignoreDeclaration: true,
      ignorePiTags: true,
      maxNestedTags: LIMITS.xmlDepth.most,
      processEntities: { enabled: true, maxEntityCount: LIMITS.xmlEntities.most },
    });
    const roots = (parser.parse(text) as unknown[]).map(toElement).filter((root) => root.name !== '#text');
    if (roots.length > 0) return roots[0];
  } catch (cause) {
    const why = shortened((cause as Error).message, LONGEST_REASON);
    throw musicError(name, `is not MusicXML (${why})`, 'export it again', cause);
  }
  throw musicError(name, 'is empty', 'give a MusicXML score');
}

function toElement(node: unknown): Element {
  const entries = Object.entries(node as Record<string, unknown>);
  const [name, content] = entries.find(([key]) => key !== ':@') ?? ['', []];
  const attributes = ((node as Record<string, unknown>)[':@'] ?? {}) as Record<string, string>;
  if (name === '#text') return { name, attributes, children: [], text: String(content) };
  const children = (content as unknown[]).map(toElement);
  const text = children
    .filter((child) => child.name === '#text')
    .map((child) => child.text)
    .join('');
  return { name, attributes, children, text };
}

/** All children of this name. */
export function all(parent: Element, name: string): Element[] {
  return parent.children.filter((child) => child.name === name);
}

/** The first child of the first name, then its first child of the second name, and so on. */
export function first(parent: Element | undefined, ...path: string[]): Element | undefined {
  let element = parent;
  for (const name of path) element = element?.children.find((child) => child.name === name);
  return element;
}

/** The number that an element contains; null if it contains none. */
export function number(element: Element | undefined): number | null {
  const value = element === undefined ? Number.NaN : Number(element.text);
  return element !== undefined && element.text.trim() !== '' && Number.isFinite(value) ? value : null;
}
