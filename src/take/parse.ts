import { z } from 'zod';
import { ReedtraceError } from '../errors.ts';
import { LIMITS, overLimit, tooLarge } from '../limits.ts';
import { describeIssue, findDisorder } from './faults.ts';
import { jsonDepth } from './json-depth.ts';
import { type Take, takeSchema } from './schema.ts';
import { TAKE_VERSION } from './version.ts';

const partsSchema = takeSchema
  .pick({
    notes: true,
    harp: true,
    beats: true,
    phrases: true,
    words: true,
    leftOut: true,
    title: true,
    advice: true,
  })
  .partial();

/** What is wrong with parts of a take, such as those that an edit changed; null when nothing is. */
export function findFaultOfParts(parts: z.infer<typeof partsSchema>): string | null {
  const parsed = partsSchema.safeParse(parts);
  return parsed.success ? null : describeIssue(parsed.error.issues[0], parts);
}

/**
 * Checks that a value is a take.
 * @param name  what to call it in an error, usually the file's name
 * @throws ReedtraceError E_TAKE_INVALID, or E_TAKE_NEWER for a version that this program doesn't know
 */
export function checkTake(value: unknown, name: string): Take {
  const head = z
    .looseObject({ format: z.literal('reedtrace-take'), version: z.number().int().min(1) })
    .safeParse(value);
  if (!head.success) {
    throw new ReedtraceError(
      'E_TAKE_INVALID',
      `'${name}' is not a Reedtrace take (${describeIssue(head.error.issues[0], value)})`,
      'give a .take.json file that `reedtrace transcribe` wrote',
    );
  }
  if (head.data.version > TAKE_VERSION) {
    throw new ReedtraceError(
      'E_TAKE_NEWER',
      `'${name}' is a take of version ${head.data.version}, and this reedtrace reads up to version ${TAKE_VERSION}`,
      'update reedtrace, or transcribe the recording again',
    );
  }
  const parsed = takeSchema.safeParse(value);
  const fault = parsed.success ? findDisorder(parsed.data) : describeIssue(parsed.error.issues[0], value);
  if (!parsed.success || fault !== null) {
    throw new ReedtraceError(
      'E_TAKE_INVALID',
      `'${name}' is a damaged take (${fault})`,
      'restore it from a copy, or transcribe the recording again',
    );
  }
  return parsed.data;
}

/**
 * Reads a take from its JSON text.
 * @throws ReedtraceError E_TAKE_INVALID, E_TAKE_NEWER, E_TOO_LARGE
 */
export function parseTake(text: string, name: string): Take {
  return checkTake(readJson(text, name), name);
}

/**
 * Parses JSON after checking that its size and depth can be handled.
 * @throws ReedtraceError E_TAKE_INVALID, E_TOO_LARGE
 */
function readJson(text: string, name: string): unknown {
  const fix = 'give a .take.json file that `reedtrace transcribe` wrote';
  const notJson = (why: string, cure: string, cause?: unknown): ReedtraceError =>
    new ReedtraceError('E_TAKE_INVALID', `'${name}' is not JSON (${why})`, cure, { cause });
  if (text.length > LIMITS.takeBytes.most) {
    throw tooLarge(name, 'has', 'takeBytes', text.length, 'give the take of one recording');
  }
  const json = text.replace(/^\uFEFF/, '').trimStart();
  if (json !== '' && json[0] !== '{' && json[0] !== '[') {
    // Most likely a recording, so its content is not shown.
    throw notJson(
      'it does not begin with {',
      'give a .take.json file; `reedtrace transcribe` makes one of a recording',
    );
  }
  const depth = jsonDepth(text);
  if (depth > LIMITS.jsonDepth.most) {
    throw new ReedtraceError(
      'E_TAKE_INVALID',
      `'${name}' has nested lists: ${overLimit('jsonDepth', depth)}`,
      fix,
    );
  }
  try {
    return JSON.parse(json);
  } catch (cause) {
    throw notJson(json === '' ? 'it is empty' : (cause as Error).message, fix, cause);
  }
}
