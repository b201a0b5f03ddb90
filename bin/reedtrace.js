#!/usr/bin/env node
// Starts the compiled command line, nothing else. An old Node must be able to read this file to say that it is old.
const [major, minor] = process.versions.node.split('.').map(Number);
if (major < 20 || (major === 20 && minor < 19)) {
  process.stderr.write(
    `error: reedtrace needs Node 20.19 or later and this is Node ${process.versions.node}; install a newer Node\n`,
  );
  process.exitCode = 2;
} else {
  await import('../dist/cli/main.js');
}
