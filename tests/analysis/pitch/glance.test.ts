import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { seededRng } from '../../../samples/synth/rng.ts';
import { EVIDENCE_SLOTS, STEPS_PER_NAT } from '../../../src/analysis/pitch/evidence.ts';
import { analyseFrames } from '../../../src/analysis/pitch/frames.ts';
import {
  GLANCE_INPUTS,
  Glance,
  type GlanceWeights,
  glanceNumbers,
} from '../../../src/analysis/pitch/glance.ts';
import { SPECTRUM_ROWS } from '../../../src/analysis/pitch/network-places.ts';
import { ONE } from '../../../src/analysis/pitch/network-weights.ts';
import { BLOCK } from '../../../src/analysis/pitch/where-to-look.ts';
import { readRecording } from '../../../src/audio/read.ts';
import { Kernel } from '../../../src/kernel.ts';

const url = (path: string) => new URL(`../../../${path}`, import.meta.url);
const WEIGHTS: GlanceWeights = JSON.parse(
  readFileSync(url('src/analysis/pitch/glance-network.json'), 'utf8'),
);
const FRAMES = 32 * 16;
const STRIDE = 4 * FRAMES;

/** Spectra at random, from silence to loud. */
function drawnSpectra() {
  const kernel = new Kernel(4 * (SPECTRUM_ROWS * FRAMES + glanceNumbers(FRAMES)));
  const rowsAt = kernel.reserve(SPECTRUM_ROWS * FRAMES);
  const rng = seededRng(7);
  for (let j = 0; j < SPECTRUM_ROWS; j++) {
    const loud = rng.next() < 0.2 ? 4 * ONE : ONE;
    for (let i = 0; i < 2 * FRAMES; i++) {
      kernel.shorts[(rowsAt + j * STRIDE) / 2 + i] = (loud * rng.next() * (i % 300)) / 300;
    }
  }
  return { kernel, rowsAt };
}

describe('the glance', () => {
  afterEach(() => {
    vi.restoreAllMocks();
  });

  it('sums eight frames of each channel, up to 64', () => {
    const { kernel, rowsAt } = drawnSpectra();
    kernel.shorts.fill(32_000, rowsAt / 2, rowsAt / 2 + 16);
    const out = kernel.reserve(2 * 2 * 32);
    kernel.code.gather(rowsAt, 2, STRIDE, 32, out, 4 * 32);
    for (let row = 0; row < 2; row++) {
      for (let half = 0; half < 64; half++) {
        for (const channel of [0, 1]) {
          let sum = 0;
          for (let t = 0; t < 8; t++)
            sum += kernel.shorts[(rowsAt + row * STRIDE) / 2 + 2 * (8 * half + t) + channel];
          const at = out / 2 + 2 * (64 * row + 32 * (half % 2) + (half >> 1)) + channel;
          expect(kernel.shorts[at]).toBe(Math.min(32_767, sum));
        }
      }
    }
  });

  it('answers as plain mathematics does', () => {
    const { kernel, rowsAt } = drawnSpectra();
    const glance = new Glance(kernel, FRAMES);
    glance.take(rowsAt, STRIDE);
    const { hidden, answer } = WEIGHTS;
    const counts = { empty: 0, full: 0 };
    for (let row = 0; row < 62; row++) {
      const empty = new Set<number>();
      glance.eachEmpty(row, 32, FRAMES - 32, (frame) => empty.add(frame));
      for (let frame = 32; frame < FRAMES - 32; frame += 16) {
        const inputs = glance.inputs(row, frame);
        const units = hidden.bias.map((bias, u) => {
          const weights = hidden.weights.slice(u * GLANCE_INPUTS, (u + 1) * GLANCE_INPUTS);
          return Math.max(
            0,
            weights.reduce((sum, weight, i) => sum + (weight * inputs[i]) / ONE, bias),
          );
        });
        const logOdds = units.reduce((sum, unit, u) => sum + unit * answer.weights[u], answer.bias[0]);
        if (Math.abs(logOdds) < 0.1) continue;
        expect(empty.has(frame), `row ${row}, frame ${frame}: ${logOdds}`).toBe(logOdds < 0);
        counts[logOdds < 0 ? 'empty' : 'full']++;
      }
    }
    expect(counts.empty).toBeGreaterThan(20);
    expect(counts.full).toBeGreaterThan(20);
  });

  it('skips blocks, but none in which the pitch network would probably hear something', async () => {
    const { samples } = await readRecording(fileURLToPath(url('samples/old-joe-clark.wav')));
    const likely = async (): Promise<string[]> => {
      const { evidence } = await analyseFrames(samples, async () => {});
      const { rows, sounding, onset } = evidence;
      return Array.from(rows, (row, s) => {
        const nats = Math.max(sounding[s], onset[s]) / STEPS_PER_NAT;
        return row > 0 && nats > 0 ? `frame ${Math.floor(s / EVIDENCE_SLOTS)}: row ${row}` : '';
      }).sort();
    };
    const counts = { blocks: 0, skipped: 0 };
    const { eachEmpty } = Glance.prototype;
    const spy = vi.spyOn(Glance.prototype, 'eachEmpty');
    spy.mockImplementation(function (this: Glance, row, from, to, visit) {
      counts.blocks += (to - from) / BLOCK;
      eachEmpty.call(this, row, from, to, (frame) => {
        counts.skipped++;
        visit(frame);
      });
    });
    const heard = await likely();
    expect(counts.skipped / counts.blocks).toBeGreaterThan(0.3);
    spy.mockImplementation(() => {});
    expect(await likely()).toEqual(heard);
  });
});
