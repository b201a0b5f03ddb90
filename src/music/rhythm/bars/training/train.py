"""Fits the bar network (../bar-network.json) to tunes and the ways to bar them, as written by tests/bench/fit/bar-ways.ts.
usage: train.py OUT.json WAYS.jsonl…   (keeps the card of OUT.json; update its figures by hand; make.sh runs all steps)
GO_ON=N continues from the weights in OUT.json for N epochs, with more weight on songs; GENTLY=1 at half the rate, and with half of that weight.
MEAN=A.json,B.json fits nothing: OUT.json becomes one network whose output is the mean of theirs.
CHECK=N leaves one tune in N out of the fit, the same ones in all files, and prints how right the ways chosen for them are, and how confident.
The inputs are those of ../note-inputs.ts, in its order; the score of each way without the network comes from ../way-weights.json."""
import collections, json, math, multiprocessing, os, sys, zlib
import numpy as np
import torch, torch.nn as nn

METRES = ["2/4", "3/4", "4/4", "6/8"]
SIXTEENTHS = [0, 8, 20, 36, 48]   # index of the sixteenths of a bar in each metre, then of the pulses of any other metre
# Probe-tone profiles, as in src/music/keynote.ts.
MAJOR = np.array([6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88])
MINOR = np.array([6.33, 2.68, 3.52, 5.38, 2.6, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17])
MOST_WAYS = 20          # per tune: the likeliest without the network
WAY_WEIGHTS = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "way-weights.json")
OTHER_OCTAVE = 0.7      # what a way at half or twice the tempo loses
WEIGHTS = {"songs": 5.0, "essenFolksong": 1.0, "folkwiki": 0.8}   # by source; 1.6 for others, as there are few books of fiddle tunes
GOING_ON = {"songs": 16.0, "songbook": 8.0, "essenFolksong": 1.6, "folkwiki": 0.8}   # the same with GO_ON: songs are what is played most
GENTLY = 0.5 if os.environ.get("GENTLY") else 1
UNITS, WAY_UNITS, EPOCHS, SEED = 40, 16, 20, 1
DECAY, DROPOUT, WAY_DROPOUT, RATE, GOING_ON_RATE, BATCH = 0.15, 0.3, 0.2, 4e-3, 1.6e-3, 32
GO_ON = int(os.environ.get("GO_ON", "0"))
SHARPNESS = [1, 0.7, 0.5, 0.4, 0.3]   # candidates for SHARPNESS in ../../confidence.ts
# Names of the layers of Net in OUT.json, in their order.
STATE = ["context", "bias", "place", "output", "direct", "way", "wayHidden", "wayBias", "wayOutput"]
DEVICE = "cuda" if torch.cuda.is_available() else "cpu"


def weight_of(source):
    weight = (GOING_ON if GO_ON else WEIGHTS).get(source, 1.6)
    return weight * GENTLY if source in ("songs", "songbook") else weight


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
    name = METRES.index(way["metre"]) if way["metre"] in METRES else 4
    sixteenth = np.zeros((n, 52), np.float32); sixteenth[np.arange(n), SIXTEENTHS[name] + (inbar // 3 if name < 4 else np.minimum(inbar // 12, 3))] = 1
    return np.concatenate([*beside, np.stack(rest, 1), fours * (inbar == 0)[:, None], fours, metre, begun, sixteenth], 1).astype(np.float32)


def counts(midi):
    figures = list(zip([None, *midi[:-1]], midi, [*midi[1:], None])); often = collections.Counter(figures)
    return np.array([min(1, 2 / often[figure]) for figure in figures], np.float32)


def prepared(line):
    """What training needs of one line of a file of ways."""
    tune = json.loads(line); weights = json.load(open(WAY_WEIGHTS))["weights"]
    weighed = np.array([weights.get(name, 0) for name in tune["names"]])
    for way in tune["ways"]: way["score"] = float(weighed @ np.array(way["features"]))
    ways = sorted(tune["ways"], key=lambda way: -way["score"])[:MOST_WAYS]
    bars = [48 * int(count) // int(unit) for count, unit in (way["metre"].split("/") for way in ways)]
    return dict(tune=zlib.crc32(f'{tune["source"]} {tune["name"]}'.encode()), notes=len(tune["midi"]), counts=counts(tune["midi"]), context=contexts(tune).astype(np.float16), place=np.stack([places(way) for way in ways]).astype(np.float16),
                way=np.array([way["features"] for way in ways], np.float32), score=np.array([way["score"] for way in ways], np.float32),
                f1=np.array([way["f1"] for way in ways], np.float32), octave=np.array([abs(math.log2(way["bpm"] / tune["bpm"])) < 0.3 for way in ways]),
                marks=np.array([np.array(way["at"]) % bar == 0 for way, bar in zip(ways, bars)], np.float32), weight=weight_of(tune["source"]))


class Tunes:
    """Tunes in one row, from which batches are taken and padded to the longest."""
    def __init__(self, tunes):
        on = lambda x: torch.tensor(np.array(x), device=DEVICE)
        self.tunes = tunes; self.notes = on([t["notes"] for t in tunes]); self.ways = on([len(t["score"]) for t in tunes])
        self.first = on(np.cumsum([0] + [t["notes"] for t in tunes[:-1]])); self.firstPlace = on(np.cumsum([0] + [t["place"].shape[0] * t["notes"] for t in tunes[:-1]]))
        self.counts = on(np.concatenate([t["counts"] for t in tunes])); self.all = on(np.array([t["counts"].sum() for t in tunes], np.float32))
        self.context = on(np.concatenate([t["context"] for t in tunes])); self.place = on(np.concatenate([t["place"].reshape(-1, t["place"].shape[2]) for t in tunes]))
        filled = lambda rows, rest: on(np.stack([np.concatenate([row, np.full((MOST_WAYS - len(row), *row.shape[1:]), rest, np.float32)]) for row in rows]).astype(np.float32))
        self.way = filled([t["way"] for t in tunes], 0); self.score = filled([t["score"] for t in tunes], -1e4)
        self.worth = filled([t["f1"] * np.where(t["octave"], 1, 1 - OTHER_OCTAVE) for t in tunes], 0); self.weight = on(np.array([t["weight"] for t in tunes], np.float32))

    def batch(self, which):
        notes = self.notes[which]; upTo = torch.arange(int(notes.max()), device=DEVICE)
        way = torch.minimum(torch.arange(MOST_WAYS, device=DEVICE), self.ways[which, None] - 1)
        context = (self.first[which, None] + upTo).clamp(max=len(self.context) - 1)
        place = (self.firstPlace[which, None, None] + way[:, :, None] * notes[:, None, None] + upTo).clamp(max=len(self.place) - 1)
        return self.context[context].float(), self.place[place].float(), (upTo < notes[:, None]) * self.counts[context], self.all[which]


class Net(nn.Module):
    def __init__(self, contexts, places, features):
        super().__init__()
        self.context = nn.Linear(contexts, UNITS); self.place = nn.Linear(places, UNITS, bias=False)
        self.output = nn.Linear(UNITS, 1, bias=False); self.direct = nn.Linear(places, 1, bias=False); self.drop = nn.Dropout(DROPOUT)
        self.way = nn.Linear(features, 1, bias=False); self.wayHidden = nn.Linear(features, WAY_UNITS)
        self.wayOutput = nn.Linear(WAY_UNITS, 1, bias=False); self.wayDrop = nn.Dropout(WAY_DROPOUT)
        with torch.no_grad():
            self.output.weight.mul_(0.1); self.direct.weight.mul_(0.1); self.way.weight.zero_(); self.wayOutput.weight.mul_(0.1)

    def forward(self, tunes, which):
        context, place, weight, count = tunes.batch(which); way = tunes.way[which]
        hidden = torch.tanh(self.context(context)[:, None] + self.place(place))
        notes = ((self.output(self.drop(hidden)) + self.direct(place)).squeeze(-1) * weight[:, None]).sum(-1) / (2.5 * (1 + count[:, None] / 83))
        whole = self.way(way) + self.wayOutput(self.wayDrop(torch.tanh(self.wayHidden(way))))
        return tunes.score[which] + whole.squeeze(-1) + notes


def widened(old, net, names):
    """The weights of a network for `net`: inputs that it lacks get 0, layers that it lacks keep their random start."""
    def values(of, start):
        if of not in old: return start
        if of == "way": return torch.tensor([[old["way"].get(name, 0) for name in names]])
        rows = torch.tensor(old[of]).reshape(start.shape[0], -1)
        return torch.cat([rows, torch.zeros(len(rows), start[0].numel() - rows.shape[1])], 1).reshape(start.shape)
    return {name: values(of, start.cpu()) for (name, start), of in zip(net.state_dict().items(), STATE)}


def fit(tunes, old, names):
    epochs, rate = (GO_ON, GOING_ON_RATE * GENTLY) if GO_ON else (EPOCHS, RATE)
    torch.manual_seed(SEED); rng = np.random.default_rng(SEED); count = len(tunes.tunes); lengths = np.array([t["notes"] for t in tunes.tunes])
    net = Net(tunes.context.shape[1], tunes.place.shape[1], tunes.way.shape[2]).to(DEVICE)
    if GO_ON: net.load_state_dict(widened(old, net, names))
    optimizer = torch.optim.AdamW(net.parameters(), lr=rate, weight_decay=DECAY)
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimizer, rate, total_steps=epochs * math.ceil(count / BATCH) + 1, pct_start=0.1)
    for epoch in range(epochs):
        # Batches hold tunes of similar length, so that little is padding.
        near = np.concatenate([part[np.argsort(lengths[part], kind="stable")] for part in np.array_split(rng.permutation(count), max(1, count // 1024))])
        batches = [near[i:i + BATCH] for i in range(0, count, BATCH)]; rng.shuffle(batches); total = 0.0
        for batch in batches:
            which = torch.tensor(batch, device=DEVICE); expected = (torch.softmax(net(tunes, which), 1) * tunes.worth[which]).sum(1)
            loss = -(tunes.weight[which] * torch.log(0.02 + expected)).mean()
            optimizer.zero_grad(); loss.backward(); optimizer.step(); schedule.step(); total += loss.item()
        print(epoch, f"{total / len(batches):.4f}", file=sys.stderr, flush=True)
    return net


def agreement(marks):
    both = marks @ marks.T; each = marks.sum(1); return 2 * both / np.maximum(each[:, None] + each, 1)


def judge(net, tunes):
    """F1 and tempo octave of the safest ways (nearly as in ../../confidence.ts), and their confidence at each sharpness."""
    net.eval(); found = []; order = np.argsort([t["notes"] for t in tunes.tunes])
    with torch.no_grad():
        for i in range(0, len(order), 64):
            scores = net(tunes, torch.tensor(order[i:i + 64], device=DEVICE)).cpu().numpy()
            for tune, row in zip((tunes.tunes[k] for k in order[i:i + 64]), scores):
                row = row[:len(tune["score"])]; near = np.argsort(-row); near = near[row[near] >= row[near[0]] - 8]; odds = np.exp(row[near] - row[near[0]])
                agree = agreement(tune["marks"][near]); safest = int(np.argmax(agree @ odds / odds.sum() + 0.02 * (np.arange(len(near)) == 0)))
                found.append([tune["f1"][near[safest]], tune["octave"][near[safest]], tune["f1"].max(), *((agree[safest] @ odds ** s) / (odds ** s).sum() for s in SHARPNESS)])
    means = np.array(found, float).mean(0)
    print(f"{len(found)} tunes: F1 {means[0]:.3f}, octave {means[1]:.3f}, best way {means[2]:.3f}; said", *(f"{s}: {x:.3f}" for s, x in zip(SHARPNESS, means[3:])), flush=True)


def mean(networks):
    """All units side by side, with output weights divided by the number of networks."""
    joined = {of: sum((network[of] for network in networks), []) for of in STATE if of not in ("direct", "way")}
    shared = lambda values: [float(f"{value / len(networks):.4g}") for value in values]
    for of in ("output", "wayOutput"): joined[of] = shared(joined[of])
    joined["direct"] = shared(map(sum, zip(*(network["direct"] for network in networks))))
    joined["way"] = dict(zip(networks[0]["way"], shared(map(sum, zip(*(network["way"].values() for network in networks))))))
    return {"units": sum(network["units"] for network in networks), **joined}


if __name__ == "__main__":
    target, files = sys.argv[1], sys.argv[2:]
    if "MEAN" in os.environ:
        joined = {"card": json.load(open(target))["card"], **mean([json.load(open(file)) for file in os.environ["MEAN"].split(",")])}
        json.dump(joined, open(target, "w"), separators=(",", ":")); sys.exit()
    names = json.loads(open(files[0]).readline())["names"]; every = int(os.environ.get("CHECK", "0"))
    if DEVICE == "cpu": torch.set_num_threads(1)   # a fixed order of summation, so that a seed always gives the same weights
    with multiprocessing.Pool() as pool: read = [pool.map(prepared, open(file), chunksize=16) for file in files]
    kept = [tune for of in read for tune in of if not every or tune["tune"] % every]
    old = json.load(open(target)) if os.path.exists(target) else {"card": {}}
    if GO_ON: UNITS, WAY_UNITS = old.get("units", UNITS), max(WAY_UNITS, len(old.get("wayBias", [])))
    net = fit(Tunes(kept), old, names)
    if every:
        for file, of in zip(files, read):
            left = [tune for tune in of if tune["tune"] % every == 0]
            if left: print(os.path.basename(file), end=" "); judge(net, Tunes(left))
        sys.exit()
    row = lambda t: [float(f"{v:.4g}") for v in t.detach().double().flatten().tolist()]
    layers = {of: row(t) for of, t in zip(STATE, net.state_dict().values())}
    layers["way"] = dict(zip(names, layers["way"]))
    json.dump({"card": old["card"], "units": UNITS, **layers}, open(target, "w"), separators=(",", ":"))
