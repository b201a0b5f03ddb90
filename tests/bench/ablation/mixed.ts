import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { seededRng } from '../../../samples/synth/rng.ts';
import { roughened } from '../../../samples/synth/scene/roughen.ts';
import { synthesise } from '../../../samples/synth/take.ts';
import { encodeWav } from '../../../samples/synth/wav.ts';
import { ORNAMENT_SEEDS, ornamentTakes } from '../ornaments/takes.ts';
import { hardTakes } from '../sets/hardset.ts';
import { togetherTakes } from '../together/takes.ts';

/** A seed of `--together` that rules were developed on. */
const TOGETHER_SEED = 77;
/** Every kind of playing that a constant may affect, each in one take. */
const TOGETHER = ['mixed clean', 'octaves room', 'shakes phone', 'runs room'];
const ORNAMENTS = ['phone'];
const HARD = ['fast', 'lifelike', 'talk'];

/** Writes short takes of several holes, shakes, tongued runs, ornaments, repeats in a room and talk, with their truth. */
export function writeMixedTakes(folder: string): void {
  const together = togetherTakes(TOGETHER_SEED).filter(({ spec, condition }) =>
    TOGETHER.includes(`${spec.category} ${condition}`),
  );
  const ornaments = ornamentTakes(ORNAMENT_SEEDS.develop, 1).filter(({ condition }) =>
    ORNAMENTS.includes(condition),
  );
  const all = hardTakes('hard', 0.03);
  const hard = HARD.flatMap((category) => all.filter(({ spec }) => spec.category === category).slice(0, 1));
  for (const { spec, degradation } of [...together, ...ornaments, ...hard]) {
    const take = roughened(synthesise(spec), degradation, seededRng(spec.seed + 1));
    writeFileSync(join(folder, `${spec.name}.wav`), encodeWav([take.samples], take.sampleRate));
    writeFileSync(join(folder, `${spec.name}.truth.json`), JSON.stringify(take.truth));
  }
}
