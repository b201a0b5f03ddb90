"""Recordings of players for train.py, with what is labelled in them.
usage: recordings.py LABELS OUT.npz FOLDER…  packs those to develop on (needs ffmpeg); LABELS is tests/real"""
import json, os, subprocess, sys
import numpy as np
SR, FR = 22050, 100
EDGE = 2048                                      # samples beyond a stretch, so that resampling rings outside it


def pack(labels, out, folders):
    audio = {os.path.splitext(name)[0]: os.path.join(folder, name) for folder in folders for name in os.listdir(folder)}
    kept, sound = [], {}
    for name in sorted(n for n in os.listdir(labels) if n.endswith('.json')):
        label = json.load(open(os.path.join(labels, name))); stem = os.path.splitext(label['audio'])[0]
        if label['use'] != 'develop' or stem not in audio: continue
        raw = subprocess.run(['ffmpeg', '-v', 'error', '-i', audio[stem], '-ac', '1', '-ar', str(SR), '-f', 's16le', '-'], capture_output=True, check=True).stdout
        sound[f'sound{len(kept)}'] = np.frombuffer(raw, np.int16); kept.append({'name': stem, 'player': label['player'], 'notes': label['notes']})
    np.savez(out, labels=json.dumps(kept), **sound)
    print(len(kept), 'recordings', round(sum(len(s) for s in sound.values()) / SR), 's')


def load(path, fold=None):
    """The recordings to learn from, and those left out. fold (as 1/2) leaves out that part of the players, balanced by events."""
    packed = np.load(path); clips = json.loads(str(packed['labels']))
    for i, clip in enumerate(clips):
        y = packed[f'sound{i}'].astype(np.float32); clip['sound'] = y / (np.abs(y).max() + 1)
        sure = [69 + 12 * np.log2(n['f0Hz'] / 440) - n['nominalMidi'] for n in clip['notes'] if n['sure']]
        clip['tuned'] = float(np.median(sure)) if sure else 0.
    if not fold: return clips, []
    part, parts = (int(v) for v in fold.split('/')); events, load_of, part_of = {}, [0] * parts, {}
    for clip in clips: events[clip['player']] = events.get(clip['player'], 0) + sum(n['sure'] for n in clip['notes'])
    for player, count in sorted(events.items(), key=lambda v: (-v[1], v[0])):
        k = int(np.argmin(load_of)); part_of[player] = k; load_of[k] += count
    out = [clip for clip in clips if part_of[clip['player']] == part - 1]
    return [clip for clip in clips if clip not in out], out


def shares(clips):
    """How often each is drawn: every player counts by the square root of how many sure events there are of them."""
    count = np.array([2 + sum(n['sure'] for n in clip['notes']) for clip in clips], float); of = {}
    for clip, n in zip(clips, count): of[clip['player']] = of.get(clip['player'], 0) + n
    w = np.array([n / of[clip['player']] ** .5 for clip, n in zip(clips, count)]); return w / w.sum()


def draw(rng, clips, weights, low, pitches, seconds):
    """A stretch of a recording, moved by up to five semitones in pitch and pace. Returns its sound; which pitches sound and are
    part of a shake; how much each frame counts for sounding, onset and shake; and the frames at which notes begin."""
    clip = clips[int(rng.choice(len(clips), p=weights))]; y = clip['sound']; N, T = int(SR * seconds), int(seconds * FR)
    moved = (float(rng.integers(-5, 6)) if rng.random() < .8 else 0.) - clip['tuned'] + rng.normal(0, .1); ratio = 2 ** (moved / 12)
    length = int(round(N * ratio)); total = len(y)
    at = int(rng.integers(min(0, total - length) - SR // 2, max(1, total - length + SR // 2)))
    part = np.zeros(length + 2 * EDGE, np.float32); i0, i1 = max(0, at - EDGE), min(total, at + length + EDGE)
    part[i0 - at + EDGE:i1 - at + EDGE] = y[i0:i1]; ramp = np.linspace(0, 1, 256, dtype=np.float32); part[:256] *= ramp; part[-256:] *= ramp[::-1]
    X = np.fft.rfft(part); m = int(round(len(part) / ratio)); Z = np.zeros(m // 2 + 1, np.complex64); k = min(len(Z), len(X)); Z[:k] = X[:k]; Z[int(len(Z) * .97):] = 0
    out = np.fft.irfft(Z, m).astype(np.float32)[int(round(EDGE / ratio)):][:N]; out = np.pad(out, (0, N - len(out)))
    note, shake, begin = (np.zeros((pitches, T), np.float32) for _ in range(3)); counts = np.ones((3, pitches, T), np.float32)
    frame = lambda sec: int(round((sec * SR - at) / SR / ratio * FR))
    span = lambda a, b: slice(min(T, max(0, a)), min(T, max(0, b)))
    for n in sorted(clip['notes'], key=lambda n: n['onsetSec']):
        a, b = frame(n['onsetSec']), frame(n['offsetSec']); off = 69 + 12 * np.log2(n['f0Hz'] / 440) - n['nominalMidi'] + moved
        rows = lambda midis: [(midi + off, int(round(midi + off)) - low) for midi in midis]
        if not n['sure']:                        # nobody can tell what sounds, but most pitches don't
            counts[:, :, span(a - 8, b + 8)] *= .3
            for _, p in rows([*n['sounding'], *n.get('maybe', [])]): counts[:, max(0, p - 1):max(0, p + 2), span(a - 10, b + 15)] = 0
            continue
        for _, p in rows(n.get('maybe', [])):
            if 0 <= p < pitches: counts[:, p, span(a - 8, b + 15)] = 0
        near = max(5, int(round(FR * n.get('onsetTolSec', .05) / ratio)))
        for x, p in rows(n['sounding']):
            if not 0 <= p < pitches: continue
            note[p, span(a, b)] = 1; q = p + (1 if x > round(x) else -1)
            counts[0, p, span(a - 3, a + 3)] = 0; counts[0, p, span(b - 4, b + 10)] = 0
            counts[1, p, span(a - near, a + near + 1)] = 0; counts[2, p, span(a, b)] *= .3
            if abs(x - round(x)) > .3 and 0 <= q < pitches: counts[:, q, span(a - 3, b + 10)] = 0
            if n['kind'] == 'shake': shake[p, span(a, b)] = 1
            if 0 <= a < T and n['onsetSec'] > .03: begin[p, a] = 1
    if at < 0: counts[:, :, span(0, frame(0) + 3)] *= .5     # silence that was added
    return out, note, shake, counts, begin


if __name__ == '__main__': pack(sys.argv[1], sys.argv[2], sys.argv[3:])
