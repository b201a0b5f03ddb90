import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';

/** Ways to reach a network from Node, as module names and as globals. */
const MODULES =
  /['"](?:node:)?(?:https?|http2|net|tls|dgram|dns|undici|ws|node-fetch|axios|got)(?:\/[^'"]*)?['"]/;
const GLOBALS = /\b(?:fetch\s*\(|new\s+(?:WebSocket|EventSource|XMLHttpRequest)\b)/;

const root = new URL('../src/', import.meta.url).pathname;
const files = readdirSync(root, { recursive: true, encoding: 'utf8' }).filter((file) => /\.tsx?$/.test(file));

function reachesNetwork(text: string): string | null {
  return (MODULES.exec(text) ?? GLOBALS.exec(text))?.[0] ?? null;
}

describe('nothing in src uses the network', () => {
  it.each([
    "import { get } from 'node:https';",
    "import net from 'net'",
    "const dns = await import('node:dns/promises')",
    "require('undici')",
    'await fetch(address)',
    'new WebSocket(address)',
  ])('and the test would notice: %s', (line) => {
    expect(reachesNetwork(line)).not.toBeNull();
  });

  it('finds source files to look at', () => {
    expect(files).toContain('errors.ts');
  });

  it.each(files)('%s', (file) => {
    expect(reachesNetwork(readFileSync(join(root, file), 'utf8'))).toBeNull();
  });
});
