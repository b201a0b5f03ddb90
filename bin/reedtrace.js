#!/usr/bin/env node
// Starts the compiled command line, nothing else. An old Node must be able to read this file to say that it is old.
const [major, minor] = process.versions.node.split('.').map(Number);
const refuse = (message) => {
  process.stderr.write(`error: ${message}\n`);
  process.exitCode = 2;
};
if (major < 20 || (major === 20 && minor < 19)) {
  refuse(
    `reedtrace needs Node 20.19 or later and this is Node ${process.versions.node}; install a newer Node`,
  );
} else {
  // Installed with `--ignore-scripts`, it was never compiled.
  const { existsSync } = await import('node:fs');
  const main = new URL('../dist/cli/main.js', import.meta.url);
  if (existsSync(main)) await import(main.href);
  else
    refuse(
      'reedtrace is not built yet; run `npm run build` in its folder, or install it without `--ignore-scripts`',
    );
}
