import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

const ROOT = fileURLToPath(new URL('../', import.meta.url));
const FIELDS = ['what', 'set', 'seed', 'script', 'command', 'training', 'heldOut', 'date'];

const files = readdirSync(join(ROOT, 'src'), { recursive: true, encoding: 'utf8' })
  .filter((file) => /-(?:network|weights)\.json$/.test(file))
  .sort();

describe('fitted weights', () => {
  it('are all data, none of them in code', () => {
    expect(files).toHaveLength(9);
    const code = readdirSync(join(ROOT, 'src'), { recursive: true, encoding: 'utf8' }).filter(
      (file) => /-(?:network|weights)\.ts$/.test(file) && file !== 'analysis/pitch/pitch-network.ts',
    );
    for (const file of code) {
      const text = readFileSync(join(ROOT, 'src', file), 'utf8');
      expect(text.match(/\d\.\d{2,}/g) ?? [], file).toEqual([]);
    }
  });

  it.each(files)('of %s have a card that says where they come from and what they are worth', (file) => {
    const { card } = JSON.parse(readFileSync(join(ROOT, 'src', file), 'utf8'));
    expect(Object.keys(card)).toEqual(FIELDS);
    for (const field of FIELDS) expect(card[field], field).toMatch(/\S/);
    expect(card.date).toMatch(/^20\d\d-\d\d-\d\d$/);
    expect(existsSync(join(ROOT, card.script)), card.script).toBe(true);
    expect(card.command).toContain(card.script.slice(card.script.lastIndexOf('/') + 1));
    expect(card.command).toContain(file.slice(file.lastIndexOf('/') + 1));
  });
});
