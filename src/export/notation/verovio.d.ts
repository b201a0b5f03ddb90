/** The functions of verovio that are used. */
declare module 'verovio/wasm' {
  export type VerovioModule = object;
  export default function createModule(): Promise<VerovioModule>;
}

declare module 'verovio/esm' {
  import type { VerovioModule } from 'verovio/wasm';

  export const LOG_WARNING: number;
  export function enableLog(level: number, module: VerovioModule): void;
  export function enableLogToBuffer(on: boolean, module: VerovioModule): void;
  export class VerovioToolkit {
    constructor(module: VerovioModule);
    setOptions(options: Readonly<Record<string, unknown>>): boolean;
    loadData(data: string): boolean;
    getLog(): string;
    redoLayout(options: Readonly<Record<string, unknown>>): void;
    getPageCount(): number;
    renderToSVG(page: number): string;
    destroy(): void;
  }
}
