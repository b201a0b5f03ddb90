import { render } from 'ink-testing-library';
import { describe, expect, it, vi } from 'vitest';
import { buildTake } from '../../src/take/take.ts';
import { App, type Snapshot, type Source } from '../../src/ui/App.tsx';
import { reduce } from '../../src/ui/reduce.ts';
import { openState } from '../../src/ui/state.ts';
import { EXAMPLE_SOURCE, exampleFindings } from '../take/example.ts';

/** A source without a disk behind it. */
function sourceOf(lines: readonly string[]): Source & {
  press(key: string): void;
  resize(columns: number, rows: number): void;
} {
  let listener = () => {};
  const take = buildTake(EXAMPLE_SOURCE, exampleFindings(lines));
  let snapshot: Snapshot = {
    state: openState('a.take.json', take, {}, false),
    contours: new Map(),
  };
  return {
    subscribe(given) {
      listener = given;
      return () => {};
    },
    snapshot: () => snapshot,
    press(key) {
      const { state } = reduce(snapshot.state, { kind: 'key', key, at: '2026-11-25T12:00:00.000Z' });
      snapshot = { ...snapshot, state };
      listener();
    },
    resize(columns, rows) {
      snapshot = { ...snapshot, state: { ...snapshot.state, size: { columns, rows } } };
      listener();
    },
  };
}
const LOOKS = { colour: false, unicode: true };

function shown(lines: readonly string[]) {
  const source = sourceOf(lines);
  const app = render(<App source={source} looks={LOOKS} />);
  // biome-ignore lint/suspicious/noControlCharactersInRegex: the styles are taken off
  return { ...app, source, lastFrame: () => (app.lastFrame() ?? '').replace(/\u001b\[[\d;]*m/g, '') };
}

describe('the screen in ink', () => {
  it('shows the take in as many rows as there are but one', () => {
    const { lastFrame, unmount } = shown(['4 -4 5']);
    const frame = lastFrame();
    expect(frame.split('\n')).toHaveLength(23);
    expect(frame).toContain('a.take.json  C harp, A4 440 Hz');
    expect(frame).toContain('[4] -4  5');
    unmount();
  });

  it('follows keys and size', async () => {
    const { lastFrame, source, unmount } = shown(['4 -4 5']);
    source.press('right');
    await vi.waitFor(() => expect(lastFrame()).toContain('note 2 of 3'));
    source.press('x');
    await vi.waitFor(() => expect(lastFrame()).toContain('note 2 of 2'));
    expect(lastFrame()).toContain('1 not saved');
    source.resize(100, 30);
    await vi.waitFor(() => expect(lastFrame().split('\n')).toHaveLength(29));
    source.resize(30, 10);
    await vi.waitFor(() => expect(lastFrame()).toContain('too small'));
    unmount();
  });
});
