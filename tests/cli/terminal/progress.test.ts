import { describe, expect, it } from 'vitest';
import { createProgress } from '../../../src/cli/terminal/progress.ts';
import { captureIo } from '../captured-io.ts';

const STAGES = ['reading', 'pitch', 'notes'];

function progressOn(setup: Parameters<typeof captureIo>[0], quiet = false) {
  const { io, texts } = captureIo(setup);
  const clock = { ms: 0 };
  return { texts, clock, progress: createProgress(io, { quiet, stages: STAGES, now: () => clock.ms }) };
}

const shown = (stderr: string) =>
  stderr
    .split('\r')
    .filter((line) => line !== '')
    .map((line) => line.replace('\u001b[K', ''));

describe('progress', () => {
  it('shows the stage, its number, how far it is, and after a while the time left', () => {
    const { texts, clock, progress } = progressOn({ tty: 80 });
    progress.begin('take.wav');
    progress.report('pitch', 0);
    clock.ms = 500;
    progress.report('pitch', 0.1);
    clock.ms = 2000;
    progress.report('pitch', 0.25);
    clock.ms = 100_000;
    progress.report('pitch', 0.5);
    expect(shown(texts.stderr)).toEqual([
      'take.wav: pitch (2 of 3) 0 %',
      'take.wav: pitch (2 of 3) 10 %',
      'take.wav: pitch (2 of 3) 25 %, 6 s left',
      'take.wav: pitch (2 of 3) 50 %, 1 min 40 s left',
    ]);
  });

  it('is redrawn at most ten times a second, but at once for a new stage', () => {
    const { texts, clock, progress } = progressOn({ tty: 80 });
    progress.begin('take.wav');
    for (clock.ms = 0; clock.ms < 1000; clock.ms++) progress.report('pitch', clock.ms / 1000);
    expect(shown(texts.stderr)).toHaveLength(10);
    progress.report('notes', 0);
    expect(shown(texts.stderr).at(-1)).toBe('take.wav: notes (3 of 3) 0 %');
  });

  it('stays shorter than the terminal, whatever the name', () => {
    const { texts, progress } = progressOn({ tty: 20 });
    progress.begin('演奏の録音その一\n.wav');
    progress.report('pitch', 0);
    expect(shown(texts.stderr)).toEqual(['演奏の録音その一\\x0']);
  });

  it('leaves an empty line when cleared, once', () => {
    const { texts, progress } = progressOn({ tty: 80 });
    progress.begin('a');
    progress.report('pitch', 0);
    texts.stderr = '';
    progress.clear();
    progress.clear();
    expect(texts.stderr).toBe('\r\u001b[K');
  });

  it.each([
    ['a pipe', {}, false],
    ['a terminal that can not redraw', { tty: 80, env: { TERM: 'dumb' } }, false],
    ['someone who asked for quiet', { tty: 80 }, true],
  ])('is silent for %s', (_who, setup, quiet) => {
    const { texts, progress } = progressOn(setup, quiet);
    progress.begin('a');
    progress.report('pitch', 0.5);
    progress.clear();
    expect(texts.stderr).toBe('');
  });
});
