"""Fits the bar network (../bar-network.json) to tunes and the ways to bar them, as tests/bench/fit/bar-ways.ts writes them.
usage: train.py OUT.json UNITS EPOCHS SEED WAYS.jsonl…   (card of OUT.json kept, its figures to be written anew by hand)
It goes on from the weights in OUT.json, where these are of as many units.
Inputs are those of ../note-inputs.ts, in its order; what each way scores before is worked out from ../way-weights.json."""
import json, math, os, sys
import numpy as np
import torch, torch.nn as nn

METRES = ["2/4", "3/4", "4/4", "6/8"]
# Probe-tone profiles, as in src/music/keynote.ts.
MAJOR = np.array([6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88])
MINOR = np.array([6.33, 2.68, 3.52, 5.38, 2.6, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17])
MOST_WAYS = 20          # of each tune, the likeliest before the network
WAY_WEIGHTS = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "way-weights.json")
OTHER_OCTAVE = 0.7      # what a way at half or twice the tempo is worth less
WEIGHTS = {"songs": 5.0, "essenFolksong": 1.0}   # by source; others 1.6, so that books of fiddle tunes count
DECAY, DROPOUT, RATE, BATCH = 0.15, 0.3, 4e-3, 16


GOING_ON = 0.4          # of the rate, where weights are gone on from


def tonic(midi, length):
    heard = np.zeros(12); np.add.at(heard, midi % 12, length)
    fits = []
    for t in range(12):
        turned = np.roll(heard, -t)
        fit = max(np.corrcoef(turned, MAJOR)[0, 1], np.corrcoef(turned, MINOR)[0, 1]) if turned.std() > 0 else 0
        fits.append(fit + 0.25 * (t == midi[-1] % 12))
    return int(np.argmax(fits))


def motions(steps):
    rows = np.zeros((len(steps), 7), np.float32); a = np.abs(steps)
    size = np.where(a <= 2, 0, np.where(a <= 4, 1, 2))
    rows[np.arange(len(steps)), np.where(steps == 0, 0, 1 + size * 2 + (steps < 0))] = 1
    return rows


def moved(row, by):
    return np.concatenate([np.zeros(by), row[:-by]]) if by > 0 else np.concatenate([row[-by:], np.zeros(-by)])


def contexts(tune):
    midi, on, off = (np.array(tune[k]) for k in ("midi", "on", "off")); st = np.array(tune["strengths"], np.float32); n = len(midi)
    steps = np.append(np.diff(on), off[-1] - on[-1]); d = np.diff(midi)
    lengths = np.clip(np.log2(np.maximum(steps, 1e-3) / np.median(steps[:-1])), -3, 3) / 2
    into = np.zeros((n, 7), np.float32); into[1:] = motions(d); out = np.zeros((n, 7), np.float32); out[:-1] = motions(d)
    degree = np.zeros((n, 12), np.float32); degree[np.arange(n), (midi - tonic(midi, off - on)) % 12] = 1
    two = np.clip(midi[2:] - midi[:-2], -12, 12) / 6; first, last, gaps = np.zeros(n), np.zeros(n), np.zeros(n)
    first[0] = last[-1] = 1; gaps[1:] = np.clip((on[1:] - off[:-1]) / 0.3, 0, 1)
    rest = [np.append(np.zeros(2), two), np.append(two, np.zeros(2)), first, last, gaps, moved(gaps, -1), st, moved(st, -1), moved(st, 1),
            lengths, moved(lengths, 1), moved(lengths, -1), moved(lengths, 2), moved(lengths, -2), (midi - midi.mean()) / 6]
    return np.concatenate([into, out, degree, np.stack(rest, 1)], 1).astype(np.float32)


def places(way):
    count, unit = map(int, way["metre"].split("/")); bar = 48 * count // unit
    pulse = 18 if unit == 8 and count > 3 and count % 3 == 0 else 12 if bar % 12 == 0 else 6
    at = np.array(way["at"]); n = len(at); inbar = at % bar
    level = np.where(inbar == 0, 0, np.where(inbar % pulse != 0, 3, np.where((bar == 48) & (inbar == 24), 1, 2)))
    L = np.zeros((n, 4), np.float32); L[np.arange(n), level] = 1; z = np.zeros((1, 4), np.float32)
    turn = 2 * np.pi * inbar / bar; step = np.append(np.diff(at), 0); inpulse = inbar % pulse
    length = np.where(step > 0, np.log2(np.maximum(step, 1) / pulse), 0) / 2
    rest = [np.sin(turn), np.cos(turn), np.sin(2 * turn), np.cos(2 * turn), (inbar > 0) & (inbar + step > bar),
            (inpulse > 0) & (inpulse + step > pulse), length, moved(length, 1)]
    four = ((at - (bar if at[0] > 0 else 0)) // bar) % 4
    fours = np.stack([four % 2, four // 2, four == 3], 1).astype(np.float32)
    begun = np.zeros((n, 4), np.float32); begun[way["repeats"], level[way["repeats"]]] = 1
    metre = np.zeros((n, 6), np.float32); metre[:, METRES.index(way["metre"]) if way["metre"] in METRES else 4] = 1; metre[:, 5] = way["swung"]
    beside = [L, np.concatenate([z, L[:-1]]), np.concatenate([L[1:], z]), np.concatenate([z, z, L[:-2]]), np.concatenate([L[2:], z, z])]
    return np.concatenate([*beside, np.stack(rest, 1), fours * (inbar == 0)[:, None], fours, metre, begun], 1).astype(np.float32)


def load(files):
    weights = json.load(open(WAY_WEIGHTS))["weights"]
    for file in files:
        for line in open(file):
            tune = json.loads(line); weighed = np.array([weights[name] for name in tune["names"]])
            for way in tune["ways"]: way["score"] = float(weighed @ np.array(way["features"]))
            ways = sorted(tune["ways"], key=lambda way: -way["score"])[:MOST_WAYS]
            octave = np.array([abs(math.log2(way["bpm"] / tune["bpm"])) < 0.3 for way in ways])
            worth = np.array([way["f1"] for way in ways]) * np.where(octave, 1, 1 - OTHER_OCTAVE)
            yield dict(context=contexts(tune), place=np.stack([places(way) for way in ways]).astype(np.float16),
                       way=np.array([way["features"] for way in ways], np.float32), score=np.array([way["score"] for way in ways], np.float32),
                       worth=worth.astype(np.float32), weight=WEIGHTS.get(tune["source"], 1.6))


class Net(nn.Module):
    def __init__(self, example, units):
        super().__init__()
        self.context = nn.Linear(example["context"].shape[1], units); self.place = nn.Linear(example["place"].shape[2], units, bias=False)
        self.output = nn.Linear(units, 1, bias=False); self.direct = nn.Linear(example["place"].shape[2], 1, bias=False)
        self.way = nn.Linear(example["way"].shape[1], 1, bias=False); self.drop = nn.Dropout(DROPOUT)
        with torch.no_grad():
            self.output.weight.mul_(0.1); self.direct.weight.mul_(0.1); self.way.weight.zero_()

    def forward(self, tune):
        place = torch.from_numpy(tune["place"].astype(np.float32)); context = torch.from_numpy(tune["context"])
        hidden = torch.tanh(self.context(context)[None] + self.place(place))
        notes = (self.output(self.drop(hidden)) + self.direct(place)).squeeze(-1).sum(1) / (2.5 * (1 + len(context) / 83))
        return torch.from_numpy(tune["score"]) + self.way(torch.from_numpy(tune["way"])).squeeze(-1) + notes


if __name__ == "__main__":
    target, units, epochs, seed = sys.argv[1], *map(int, sys.argv[2:5])
    torch.set_num_threads(1)  # sums in one order, so that a seed gives the same weights again
    names = json.loads(open(sys.argv[5]).readline())["names"]
    torch.manual_seed(seed); rng = np.random.default_rng(seed); tunes = list(load(sys.argv[5:])); net = Net(tunes[0], units)
    old = json.load(open(target)) if os.path.exists(target) else {"card": {}}
    goes_on = old.get("units") == units
    if goes_on:
        given = {"context.weight": old["context"], "context.bias": old["bias"], "place.weight": old["place"], "output.weight": old["output"],
                 "direct.weight": old["direct"], "way.weight": [old["way"][name] for name in names]}
        net.load_state_dict({name: torch.tensor(given[name]).reshape(t.shape) for name, t in net.state_dict().items()})
    rate = RATE * (GOING_ON if goes_on else 1)
    optimizer = torch.optim.AdamW(net.parameters(), lr=rate, weight_decay=DECAY)
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimizer, rate, total_steps=epochs * (len(tunes) // BATCH) + 1, pct_start=0.1)
    for epoch in range(epochs):
        order = rng.permutation(len(tunes)); total = 0.0
        for b in range(0, len(order) - BATCH + 1, BATCH):
            loss = 0.0
            for tune in (tunes[i] for i in order[b:b + BATCH]):
                expected = (torch.softmax(net(tune), 0) * torch.from_numpy(tune["worth"])).sum()
                loss = loss - tune["weight"] * torch.log(0.02 + expected) / BATCH
            optimizer.zero_grad(); loss.backward(); optimizer.step(); schedule.step(); total += loss.item()
        print(epoch, f"{total / (len(order) // BATCH):.4f}", file=sys.stderr, flush=True)
    row = lambda t: [float(f"{v:.4g}") for v in t.detach().double().flatten().tolist()]
    layers = {"context": row(net.context.weight), "place": row(net.place.weight), "bias": row(net.context.bias), "output": row(net.output.weight), "direct": row(net.direct.weight)}
    json.dump({"card": old["card"], "units": units, **layers, "way": dict(zip(names, row(net.way.weight)))}, open(target, "w"), separators=(",", ":"))
