import { readFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import type { SmallNetwork } from '../../../src/decode/small-network.ts';
import { type LabelledTake, loadTakes } from '../sets/takes.ts';
import { type Example, heldOut, mistakesOf, rounded, today } from './fit-network.ts';

/**
 * Fits a network to the labelled takes of the folders that the command line names, and judges it on them and on those of
 * `--check`, which it is not fitted to. With `--weights FILE` the network of that file is judged instead.
 * @param name  of the network in its file
 * @returns the network, and what its card says of the fit
 */
export async function fitOnFolders(
  name: string,
  examplesOf: (take: LabelledTake) => Promise<Example[]>,
  fitTo: (examples: readonly Example[]) => SmallNetwork,
) {
  const { values, positionals } = parseArgs({
    allowPositionals: true,
    options: { check: { type: 'string', multiple: true, default: [] }, weights: { type: 'string' } },
  });
  const examplesIn = async (folders: readonly string[]): Promise<Example[]> => {
    const examples: Example[] = [];
    for (const take of folders.flatMap(loadTakes)) examples.push(...(await examplesOf(take)));
    return examples;
  };
  const examples = await examplesIn(positionals);
  const network: SmallNetwork =
    values.weights === undefined
      ? rounded(fitTo(examples))
      : JSON.parse(readFileSync(values.weights, 'utf8'))[name];
  return {
    network,
    set: positionals.join(', '),
    training: mistakesOf(network, examples),
    heldOut: await heldOut(values.check, async (folder) => mistakesOf(network, await examplesIn([folder]))),
    date: today(),
  };
}
