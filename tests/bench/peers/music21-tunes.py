"""Notes of music files as music21 reads them, for foreign-scores.ts.

Paths on standard input, one a line; a line of JSON each on standard output: the parts, and the voices within them, as
lists of [midi, onset, length] in quarter notes, the highest where several sound, ties joined, grace notes left out.
"""

import json
import re
import sys

from music21 import converter, stream


def notes_of(part):
    highest = {}
    for note in part.flatten().notes:
        if note.duration.isGrace or not note.isNote and not note.isChord or not note.pitches:
            continue
        pitch = max(note.pitches, key=lambda each: each.midi)
        tie = note.tie
        if note.isChord:
            tie = next((each.tie for each in note if each.pitch == pitch), None)
        onset = float(note.getOffsetInHierarchy(part))
        ends_tie = tie is not None and tie.type in ("stop", "continue")
        found = highest.get(onset)
        if found is None or pitch.midi > found[0]:
            highest[onset] = (pitch.midi, float(note.quarterLength), ends_tie)
    notes = []
    for onset, (midi, length, ends_tie) in sorted(highest.items()):
        last = notes[-1] if notes else None
        if ends_tie and last is not None and last[0] == midi and abs(last[1] + last[2] - onset) < 0.01:
            last[2] = onset + length - last[1]
        else:
            notes.append([midi, onset, length])
    return notes


def voices_of(part):
    ids = sorted({voice.id for voice in part.recurse().getElementsByClass(stream.Voice)}, key=str)
    for wanted in ids if len(ids) > 1 else []:
        alone = stream.Part()
        for measure in part.getElementsByClass(stream.Measure):
            voices = list(measure.voices)
            chosen = [voice for voice in voices if voice.id == wanted]
            for source in chosen if voices else [measure]:
                for note in source.notes:
                    offset = measure.offset + (source.offset if voices else 0) + note.offset
                    alone.insert(offset, note)
        yield alone


def read(path):
    if path.endswith(".abc"):
        with open(path, encoding="utf-8", errors="replace") as file:
            tunes = re.split(r"^(?=X:)", file.read(), flags=re.MULTILINE)
        # A book of hundreds of tunes: the first, as ours.
        score = converter.parseData("".join(tunes[:2]), format="abc")
    else:
        score = converter.parse(path)
    if isinstance(score, stream.Opus):
        score = score.scores[0]
    parts = list(score.parts) if isinstance(score, stream.Score) else [score]
    found = []
    for part in parts:
        sounding = part.toSoundingPitch()
        found.append({"name": str(part.partName or part.id), "notes": notes_of(sounding)})
        for voice in voices_of(sounding):
            found.append({"name": str(part.partName or part.id), "notes": notes_of(voice)})
    return found


for line in sys.stdin:
    path = line.strip()
    try:
        answer = {"path": path, "parts": read(path)}
    except Exception as error:  # noqa: BLE001 - whatever it is, it is told
        answer = {"path": path, "error": f"{type(error).__name__}: {error}"[:200]}
    print(json.dumps(answer), flush=True)
