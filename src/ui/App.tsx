import { Box, Text } from 'ink';
import { memo, useSyncExternalStore } from 'react';
import { type Looks, printLines } from './line.ts';
import type { UiState } from './state.ts';
import { screenParts } from './view/screen.ts';
import type { Contours } from './view/window.ts';

/** What the screen is drawn from; a new object whenever something changed. */
export interface Snapshot {
  readonly state: UiState;
  readonly contours: Contours;
}

/** Where the screen gets what it shows. */
export interface Source {
  subscribe(listener: () => void): () => void;
  snapshot(): Snapshot;
}

/** A part of the screen; drawn again only when its text changes. */
const Pane = memo(function Pane({ text }: { readonly text: string }) {
  return text === '' ? null : <Text wrap="truncate">{text}</Text>;
});

/** The correction screen. Keys don't come this way: they are read before ink is there (`keyboard.ts`). */
export function App({ source, looks }: { readonly source: Source; readonly looks: Looks }) {
  const { state, contours } = useSyncExternalStore(source.subscribe, source.snapshot);
  const { title, tab, pitch, note, keys } = screenParts(state, contours);
  return (
    <Box flexDirection="column" width={state.size.columns}>
      <Pane text={printLines(title, looks)} />
      <Pane text={printLines(tab, looks)} />
      <Pane text={printLines(pitch, looks)} />
      <Pane text={printLines(note, looks)} />
      <Pane text={printLines(keys, looks)} />
    </Box>
  );
}
