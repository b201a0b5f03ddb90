import { formatSheet, type SheetSource } from '../../tab/sheet.ts';
import type { TabStyle } from '../../tab/text.ts';
import type { SheetWords } from '../../tab/words-rows.ts';
import { formatTake } from '../../take/format.ts';
import type { Take } from '../../take/schema.ts';
import { paintFor } from '../terminal/colour.ts';
import { columnsOf, type Io } from '../terminal/io.ts';
import { oneLine } from '../terminal/message.ts';

/** Prints takes: their tab one after another, or their JSON at the end. */
export class TakePrinter {
  readonly #io: Io;
  readonly #style: TabStyle;
  readonly #json: boolean;
  readonly #takes: string[] = [];
  #sheets = 0;

  constructor(io: Io, { style, json }: { readonly style: TabStyle; readonly json: boolean }) {
    this.#io = io;
    this.#style = style;
    this.#json = json;
  }

  async print(take: Take): Promise<void> {
    if (this.#json) {
      this.#takes.push(formatTake(take).trimEnd());
      return;
    }
    // Most takes have no words, and the layout of words takes time to load.
    const words =
      take.words.length === 0 ? undefined : (await import('../../export/sheet-words.ts')).sheetWords(take);
    this.printSheet(take, words);
  }

  /** Prints the tab of a take, never JSON. */
  printSheet(made: SheetSource, words?: SheetWords): void {
    const { stdout } = this.#io;
    const sheet = formatSheet(
      { ...made, source: { ...made.source, file: oneLine(made.source.file) } },
      {
        columns: columnsOf(stdout),
        style: this.#style,
        paint: paintFor(this.#io),
        ...(words === undefined ? {} : { words }),
      },
    );
    stdout.write(this.#sheets++ === 0 ? sheet : `\n${sheet}`);
  }

  /** Prints JSON: one take as it is; several, or a folder, as an array, even if only one of them worked. */
  end(many: boolean): void {
    if (!this.#json) return;
    if (many) this.#io.stdout.write(`[${this.#takes.join(',\n')}]\n`);
    else if (this.#takes.length > 0) this.#io.stdout.write(`${this.#takes[0]}\n`);
  }
}
