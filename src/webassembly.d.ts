/** The parts of WebAssembly in use; Node's types lack them. */
declare namespace WebAssembly {
  class Module {
    constructor(bytes: Uint8Array);
  }
  class Memory {
    readonly buffer: ArrayBuffer;
    constructor(descriptor: { initial: number });
  }
  class Instance {
    readonly exports: unknown;
    constructor(module: Module, imports: Record<string, Record<string, unknown>>);
  }
}
