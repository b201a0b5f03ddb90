import { render } from 'ink-testing-library';
import { describe, expect, it, vi } from 'vitest';
import { buildTake } from '../../src/take/take.ts';
import { App, type Snapshot, type Source } from '../../src/ui/App.tsx';
import { reduce } from '../../src/ui/reduce.ts';
import { openState } from '../../src/ui/state.ts';
import { EXAMPLE_SOURCE, exampleFindings } from '../take/example.ts';

/** A source without a disk behind it. */
function sourceOf(
  lines: readonly string[],
): Source & { pressed: string[]; resize(columns: number, rows: number): void } {
  let listener = () => {};
  const take = buildTake(EXAMPLE_SOURCE, exampleFindings(lines));
  let snapshot: Snapshot = {
    state: openState('a.take.json', take, {}, false),
    contours: new Map(),
    size: { columns: 80, rows: 24 },
  };
  const pressed: string[] = [];
  return {
    pressed,
    subscribe(given) {
      listener = given;
      return () => {};
    },
    snapshot: () => snapshot,
    press(key) {
      pressed.push(key);
      const { state } = reduce(snapshot.state, { kind: 'key', key, at: '2026-11-25T12:00:00.000Z' });
      snapshot = { ...snapshot, state };
      listener();
    },
    resize(columns, rows) {
      snapshot = { ...snapshot, size: { columns, rows } };
      listener();
    },
  };
}
const LOOKS = { colour: false, unicode: true };

/** The component with a keyboard that is listened to. */
async function shown(lines: readonly string[]) {
  const source = sourceOf(lines);
  const app = render(<App source={source} looks={LOOKS} />);
  await vi.waitFor(() => {
    app.stdin.write('\u001b[D');
    expect(source.pressed.length).toBeGreaterThan(0);
  });
  source.pressed.length = 0;
  // biome-ignore lint/suspicious/noControlCharactersInRegex: the styles are taken off
  return { ...app, source, lastFrame: () => (app.lastFrame() ?? '').replace(/\u001b\[[\d;]*m/g, '') };
}

describe('the screen in ink', () => {
  it('shows the take in as many rows as there are but one', async () => {
    const { lastFrame, unmount } = await shown(['4 -4 5']);
    const frame = lastFrame();
    expect(frame.split('\n')).toHaveLength(23);
    expect(frame).toContain('a.take.json  C harp, A4 440 Hz');
    expect(frame).toContain('[4] -4  5');
    unmount();
  });

  it('loses no key of those that come at once, in a row or as sequences', async () => {
    const { stdin, source, unmount } = await shown(['4 -4 5 6 -6']);
    const pressed = async (text: string, keys: string[]) => {
      source.pressed.length = 0;
      stdin.write(text);
      await vi.waitFor(() => expect(source.pressed).toEqual(keys));
    };
    await pressed('\u001b[C', ['right']);
    await pressed('\u001b[A', ['up']);
    await pressed('\u001b[Z', ['shift-tab']);
    await pressed('\t\t', ['tab', 'tab']);
    await pressed('\u007f', ['backspace']);
    await pressed('\u0013', ['ctrl-s']);
    await pressed('\u0003', ['ctrl-c']);
    source.press('escape');
    await pressed('\u001b[H', ['home']);
    await pressed('23', ['2', '3']);
    await pressed("a'b", ['a', "'", 'b']);
    await pressed('e\u0301日', ['e\u0301', '日']);
    unmount();
  });

  it('follows keys and size', async () => {
    const { lastFrame, source, unmount } = await shown(['4 -4 5']);
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
