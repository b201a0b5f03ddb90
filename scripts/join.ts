import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, isAbsolute, join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { type Plugin, rolldown } from 'rolldown';

/*
 * `npm run build:program`: joins the compiled modules of the command line into few files, which load faster. The files
 * that a process or thread begins with stay where they are; what they share goes into `dist/program/`. The modules of the
 * library stay as they were compiled.
 */

const ROOT = fileURLToPath(new URL('../', import.meta.url));
const DIST = join(ROOT, 'dist/');
const MAIN = 'cli/main';
const THREADS = [
  'threads/worker',
  'cli/hear/worker',
  'ui/effects/hearing-thread',
  'ui/effects/reading-thread',
];
const at = (name: string): string => join(DIST, `${name}.js`);

/** Packages that every command loads; all others are loaded from their own folders when needed. */
const JOINED = /^(?:commander|tonal|@tonaljs\/.*)$/;

/** What a module loads at once, and what it loads later. */
interface Loads {
  readonly now: readonly string[];
  readonly later: readonly string[];
}

/** By compiled path. */
const modules = new Map<string, Loads>();
/** Modules that answer `--help`, and those that transcribing needs besides. */
const groups = { start: new Set<string>(), transcribe: new Set<string>() };

/** Adds the modules that are loaded with one. */
function collect(id: string, into: Set<string>): void {
  const loads = modules.get(id);
  if (into.has(id) || loads === undefined) return;
  into.add(id);
  for (const each of loads.now) collect(each, into);
}

/** A placeholder for the path up to `dist/` until the module's file is known. */
const UP = '__up_to_dist__/';

const plugin: Plugin = {
  name: 'reedtrace',
  // A module looks for its neighbours where it was compiled to, not where it was joined.
  transform(code, id) {
    if (!id.startsWith(DIST) || !code.includes('import.meta.url')) return null;
    const own = `new URL('${UP}${relative(DIST, id).replaceAll('\\', '/')}', import.meta.url).href`;
    return code.replaceAll('import.meta.url', own);
  },
  renderChunk(code, { fileName }) {
    return code.replaceAll(UP, `${relative(dirname(fileName), '.').replaceAll('\\', '/')}/`);
  },
  buildEnd() {
    for (const id of this.getModuleIds()) {
      const info = this.getModuleInfo(id);
      if (info !== null) modules.set(id, { now: info.importedIds, later: info.dynamicallyImportedIds });
    }
    collect(at(MAIN), groups.start);
    // It waits for the command that it starts, so no command may wait for it.
    groups.start.delete(at(MAIN));
    for (const id of modules.get(at('cli/transcribe/command'))!.later) collect(id, groups.transcribe);
  },
};

/** Licences of the joined packages, which require a copy with the code. */
function licences(ids: Iterable<string>): string {
  const folders = [...ids].flatMap((id) => /^.*\/node_modules\/(?:@[^/]+\/)?[^/]+/.exec(id)?.[0] ?? []);
  const texts = [...new Set(folders)].sort().map((folder) => {
    const { name, version } = JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8'));
    const file = ['LICENSE', 'LICENSE.md', 'license'].map((each) => join(folder, each)).find(existsSync);
    if (file === undefined) throw new Error(`${name} has no file with its licence: it can't be joined`);
    return `${name} ${version}\n\n${readFileSync(file, 'utf8').trim()}\n`;
  });
  return `Files in this folder contain code of these packages.\n\n${texts.join('\n---\n\n')}`;
}

const bundle = await rolldown({
  input: Object.fromEntries([MAIN, ...THREADS].map((name) => [name, at(name)])),
  platform: 'node',
  // As modules rather than CommonJS, only the used parts of packages are included.
  resolve: { mainFields: ['module', 'main'] },
  external: (id) => !isAbsolute(id) && !/^[.\0]/.test(id) && !JOINED.test(id),
  preserveEntrySignatures: false,
  // tonal would draw up its dictionaries of chords and scales at start, though only its notes are used.
  treeshake: { moduleSideEffects: [{ test: /@tonaljs/, sideEffects: false }] },
  // Transcribing loads at once what other commands load later.
  checks: { ineffectiveDynamicImport: false },
  plugins: [plugin],
});
const { output } = await bundle.write({
  dir: DIST,
  format: 'esm',
  entryFileNames: '[name].js',
  chunkFileNames: 'program/[name].js',
  comments: false,
  codeSplitting: {
    includeDependenciesRecursively: false,
    groups: [
      { name: 'start', priority: 2, test: (id) => groups.start.has(id) },
      { name: 'transcribe', priority: 1, test: (id) => groups.transcribe.has(id) },
    ],
  },
});
await bundle.close();
const used = output.flatMap((chunk) =>
  chunk.type === 'chunk'
    ? Object.keys(chunk.modules).filter((id) => chunk.modules[id].renderedLength > 0)
    : [],
);
writeFileSync(join(DIST, 'program/LICENSES.txt'), licences(used));
const own = [...modules.keys()].filter((id) => id.startsWith(DIST)).length;
process.stdout.write(`${own} modules joined into ${output.length} files\n`);
