import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { tryInput } from './attempt.ts';
import { Chance } from './chance.ts';
import { TARGETS, type Target } from './targets.ts';

const CORPUS = new URL('./corpus/', import.meta.url);
/** Every recording is read alike, whatever kind it was made from. */
const targetOf = (folder: string): Target => {
  const target = TARGETS.find(({ kind }) => kind === folder || kind.startsWith(`${folder} `));
  if (target === undefined) throw new Error(`no reader for ${folder}`);
  return target;
};

describe('inputs that once broke a reader', () => {
  const inputs = readdirSync(CORPUS).flatMap((folder) =>
    readdirSync(new URL(`${encodeURIComponent(folder)}/`, CORPUS)).map((name) => [folder, name] as const),
  );
  it.each(inputs)('%s/%s is read or refused with a message', async (folder, name) => {
    const input = readFileSync(new URL(`${encodeURIComponent(folder)}/${encodeURIComponent(name)}`, CORPUS));
    const outcome = await tryInput(targetOf(folder), new Uint8Array(input), true);
    expect(outcome).not.toMatchObject({ kind: 'fault' });
  });
});

describe('the fuzzer', () => {
  it.each(TARGETS.map((target) => [target.kind, target] as const))(
    'makes inputs for %s',
    async (_, target) => {
      const chance = new Chance(5);
      for (let n = 0; n < 3; n++) {
        const outcome = await tryInput(target, target.input(chance), true);
        expect(outcome).not.toMatchObject({ kind: 'fault' });
      }
    },
  );

  it('distinguishes a crash from a refusal', async () => {
    const broken = { run: () => ([] as string[]).at(0)!.length };
    expect(await tryInput(broken, new Uint8Array(), true)).toMatchObject({ kind: 'fault' });
  });

  it('makes the same inputs from the same seed', () => {
    const draw = () => TARGETS.map((target) => Buffer.from(target.input(new Chance(9))).toString('base64'));
    expect(draw()).toEqual(draw());
  });
});
