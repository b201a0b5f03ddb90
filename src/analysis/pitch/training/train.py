"""Trains the pitch network on drawn sound, on all GPUs of one machine.
usage: train.py OUT SECONDS CHANNELS SEED  (talk.npy beside it: int16 speech at 22.05 kHz)
Environment: START weights to go on from (.pt, or .json with fewer looks), SECOND channels of the second look, RATE, BATCH clips
a GPU, WORKERS processes that draw, PLAIN=1 without the Triton kernel, LEAST steps below which it stops at once, PART (as 2/3)
of a fall of the rate that several runs share, FREEZE=1 norms as they are, EMA how slowly the mean of the weights that is saved follows.
RECORDINGS (made by recordings.py) to learn from as well, STRETCHES of them a GPU and step, what they COUNT beside drawn sound, and
FOLD (as 1/2) of the players to leave out."""
import json, os, sys, time
import numpy as np
import torch, torch.distributed as dist, torch.nn as nn, torch.nn.functional as Fn
HERE = os.path.dirname(os.path.abspath(__file__)); sys.path.insert(0, HERE)
import recordings
SR, CR, SEC, V, NH = 22050, 200, 4.0, 10, 24
HOP = 220.5; FR = 100; N = int(SR * SEC); T = int(SEC * FR); C = int(SEC * CR)
LO, NP = 43, 62
BLOW = [60, 64, 67, 72, 76, 79, 84, 88, 91, 96]; DRAW = [62, 67, 71, 74, 77, 81, 83, 86, 89, 93]
LOG2H = np.log2(np.arange(1, NH + 1)).astype(np.float32)


def clip(rng):
    f0 = np.full((V, C), 440., np.float32); amp = np.zeros((V, C), np.float32); spec = np.zeros((V, C, NH), np.float32)
    note, onset, shake = (np.zeros((NP, T), np.float32) for _ in range(3)); mask = np.ones((NP, T), np.float32); breath = np.zeros(C, np.float32)
    sh = int(rng.integers(-15, 8))
    blow = [b + sh for b in BLOW]; draw = [d + sh for d in DRAW]
    u = rng.random()
    if u < .1: blow[2] += 2
    elif u < .2: draw[4] += 1
    elif u < .25: blow[1] -= 1; blow[4] -= 1; draw[2] -= 1; draw[6] -= 1
    tune = rng.normal(0, .12); reed_c = rng.normal(0, rng.uniform(.005, .1), (2, 10))
    base = rng.normal(0, rng.choice([3, 6, 9]), (2, 10, NH)) * rng.uniform(.3, 1) + rng.normal(0, 5, NH) - np.arange(NH) * rng.uniform(.2, 1.8)
    boost = int(rng.integers(0, 6)); base[:, :, boost] += rng.uniform(0, 15) * (rng.random() < .7)
    if rng.random() < .2: base[:, :, 0] -= rng.uniform(5, 20)
    mode = rng.choice(["melody", "chords", "mixed", "shakes", "fast", "repeats", "detached", "octaves", "chug"], p=[.16, .14, .22, .06, .09, .11, .05, .08, .09])
    rate = np.exp(rng.uniform(np.log(.1), np.log(.9)))
    if mode == "fast": rate = rng.uniform(.065, .16)
    if mode == "repeats": rate = rng.uniform(.075, .3)
    if mode == "chug": rate = rng.uniform(.1, .4); chug_len = rng.uniform(.25, .95); chug_k = int(rng.choice([1, 2, 2, 3]))
    span = int(rng.choice([3, 3, 4, 5, 2])); oct_lev = rng.normal(-2, 3); whole = rng.random() < .5     # octaves only
    upper = rng.uniform(-6, 1), rng.uniform(1, 5)                                           # how loud the reeds of this player's chords are
    if mode == "detached": rate = rng.uniform(.25, .9)
    t, h, br = rng.uniform(-.3, .5), int(rng.integers(1, 11)), int(rng.integers(0, 2))
    legato = rng.random()
    u = rng.random(); ripple = rng.uniform(0, 12) if u < .25 else rng.uniform(0, 5) if u < .6 else 0
    fade = rng.uniform(0, 30) if rng.random() < .35 else 0                                  # dB a second that a held reed loses
    rr = rng.uniform(3, 9); rphase = rng.uniform(0, 6.28); rsharp = rng.choice([1, 1, 2, 4])
    wah = rng.uniform(0, 1.2) if rng.random() < .15 else 0; wr = rng.uniform(1.5, 7)
    soft_att = rng.random() < .3; air = 10 ** (rng.uniform(-50, -16) / 20); late = rng.uniform(0, .8)
    dipmax = rng.uniform(4, 40)
    pend = last = None; busy = np.zeros(V - 4); grid = (np.arange(C) / CR).astype(np.float32)
    vib_p = rng.random() * .5

    def mark(p, a, b, arr, v=1.):
        if 0 <= p < NP:
            ja, jb = int(round(a * FR)), int(round(b * FR)); arr[p, max(0, ja):max(0, jb)] = v

    def mark_onset(p, a):
        if 0 <= p < NP:
            ja = int(round(a * FR))
            for k, v in ((-1, .5), (0, 1.), (1, .5)):
                if 0 <= ja + k < T: onset[p, ja + k] = max(onset[p, ja + k], v)

    def event(a, b, midi, cents, lev, hh, bb, att, rel, glide=None, fall=None, label=True, on=True, lab_a=None, lab_b=None):
        v = int(np.argmin(np.where(busy <= a, busy, busy + 100)))
        busy[v] = b + rel
        i0, i1 = max(0, int((a - att) * CR)), min(C, int((b + rel) * CR) + 1)
        if i1 <= i0: return
        g = grid[i0:i1]
        e = np.clip((g - a + .3 * att) / max(att, .004), 0, 1) ** rng.choice([1., 2., 3.]) * np.clip((b + rel - g) / max(rel, .004), 0, 1) ** 1.5
        if fade: e = e * 10 ** (-fade * np.maximum(g - a, 0) / 20)
        if ripple:
            w = (.5 - .5 * np.cos(2 * np.pi * rr * g + rphase)) ** rsharp
            e = e * 10 ** (-ripple * w / 20)
        f = np.full(len(g), midi + cents, np.float32)
        if glide: f = f + glide[0] * np.clip(1 - (g - a) / glide[1], 0, 1)
        if fall: f = f + fall[0] * np.clip((g - b + fall[1]) / fall[1], 0, 1)
        if rng.random() < .5: f = f - rng.uniform(.05, .4) * np.exp(-np.maximum(g - a, 0) / rng.uniform(.01, .05))
        if rng.random() < vib_p: f = f + rng.uniform(.05, .45) * np.sin(2 * np.pi * rng.uniform(3.5, 7.5) * g + rng.uniform(0, 6))
        new = (lev * e).astype(np.float32)
        keep = new > amp[v, i0:i1]
        f0[v, i0:i1] = np.where(keep, 440 * 2 ** ((f - 69) / 12), f0[v, i0:i1]); amp[v, i0:i1] = np.maximum(new, amp[v, i0:i1])
        s = base[bb, hh - 1] + rng.normal(0, 1.5, NH)
        S = np.repeat((10 ** (s / 20)).astype(np.float32)[None], len(g), 0)
        if late > .2: S = S * np.clip(e, .01, 1)[:, None] ** (late * LOG2H * .5)[None]
        if wah: S = S * 10 ** (-(wah * (1 - np.cos(2 * np.pi * wr * g)) * 4)[:, None] * LOG2H[None] / 20)
        spec[v, i0:i1] = np.where(keep[:, None], S, spec[v, i0:i1])
        breath[i0:i1] += new * air
        if rng.random() < .3: breath[i0:min(i1, i0 + 16)] += lev * air * rng.uniform(1, 5)
        if label:
            x = midi + cents; p = int(round(x)) - LO
            la, lb = (a if lab_a is None else lab_a), (b if lab_b is None else lab_b)
            mark(p, la, lb, note)
            if on: mark_onset(p, la)
            d = x - round(x)
            if abs(d) > .36: mark(p + (1 if d > 0 else -1), la - .02, lb + .02, mask, 0)
            if lb - la > 0 and (glide or fall):
                for q in range(p - 3, p + 4):
                    if q != p and glide: mark(q, la - .02, la + glide[1] * .9, mask, .2)
    while t < SEC:
        dur = float(np.clip(rate * np.exp(rng.normal(0, .12 if mode in ("fast", "repeats", "chug") else .45)), .06, 2.8))
        u = rng.random()
        stay = .8 if mode == "repeats" else .25
        if u < stay: pass
        elif u < stay + (1 - stay) * .65: h = int(np.clip(h + rng.choice([-1, 1]), 1, 10))
        else: h = int(np.clip(h + rng.choice([-3, -2, 2, 3]), 1, 10))
        nb = br if rng.random() < (.92 if mode == "repeats" else .5) else 1 - br
        same = last is not None and nb == br and h == last
        holes = [h]; r = rng.random()
        if (mode == "chords" and r < .85) or (mode == "mixed" and r < .35):
            k = int(rng.choice([1, 2, 3, 4], p=[.36, .28, .2, .16]))
            if k > 2 and rng.random() < .5: h = min(h, int(rng.integers(1, 5)))              # wide chords lie low
            holes = [x for x in range(h, h + k + 1) if x <= 10]
        R_ = draw if nb else blow; octs = [x for x in range(h + 2, min(11, h + 6)) if R_[x - 1] - R_[h - 1] == 12]
        if (mode == "melody" and r > .94) or (mode == "chords" and r > .85) or (mode == "mixed" and r > .78):
            holes = [h, octs[0]] if octs and rng.random() < .6 else [x for x in (h, h + int(rng.choice([2, 3, 3, 4, 5]))) if x <= 10]
        if mode == "octaves" and rng.random() < .8:
            sp = span if rng.random() < .7 else span + int(rng.choice([-1, 1]))
            if whole and octs: holes = [h, octs[0]]
            elif h + sp <= 10: holes = [h, h + sp]
        if mode == "chug" and rng.random() < .8:
            if rng.random() < .7 and last is not None: h = last
            holes = [x for x in range(h, h + chug_k + (rng.random() < .2) + 1) if x <= 10]
        same = last is not None and nb == br and h == last
        R = draw if nb else blow
        q_ = rng.random()
        att = rng.uniform(.04, .25) if q_ < (.35 if soft_att else .08) else rng.uniform(.004, .1) if q_ < .5 else rng.uniform(.004, .03)
        att = min(att, dur * .6); rel = rng.uniform(.01, .09) if rng.random() < .8 else rng.uniform(.05, .3)
        gap = 0.0
        if last is not None:
            if same: gap = min(rng.uniform(.015, .15), dur * .6)
            elif nb != br: gap = rng.uniform(.003, .06)
            else: gap = rng.uniform(0, .02) if rng.random() < .7 else rng.uniform(.02, .08)
        if mode == "chug" and len(holes) > 1: gap = max(.02, dur * (1 - chug_len) * rng.uniform(.8, 1.2)); att = min(att, .05)
        elif mode == "detached": gap += rng.uniform(.05, .9)
        elif rng.random() < (1 - legato) * .5: gap += rng.uniform(.03, .5)
        lev = 10 ** (rng.normal(0, 4) / 20)
        if mode == "shakes" and rng.random() < .55 and h < 10:
            q = np.exp(rng.uniform(np.log(.035), np.log(.125))); n = int(np.clip(dur * 2 / q, 5, 60)); over = rng.uniform(.0, .6)
            for i in range(n):
                x = h + i % 2
                event(t + i * q, t + (i + 1) * q, R[x - 1], tune + reed_c[nb, x - 1], lev * 10 ** (rng.normal(0, 1) / 20), x, nb, min(.01, q / 3), .008 + over * q, on=False, label=False)
                mark(R[x - 1] - LO, t + i * q, t + (i + 1) * q, note)
            for x in (h, h + 1):
                mark(R[x - 1] - LO, t, t + n * q, shake); mark(R[x - 1] - LO, t, t + n * q, mask, .3)
                mark_onset(R[x - 1] - LO, t + (x - h) * q)
            t += n * q; br, last = nb, h; pend = None
            continue
        b = t + max(.04, dur - gap)
        bend = 0
        hi, lo = max(blow[h - 1], draw[h - 1]), min(blow[h - 1], draw[h - 1])
        can = hi - lo - 1
        bendable = len(holes) == 1 and can > 0 and (nb == 1) == (draw[h - 1] > blow[h - 1])
        if bendable and rng.random() < .22: bend = int(rng.integers(1, can + 1))
        off = rng.normal(0, .25) if bend else 0
        glide = (rng.uniform(-2.2, .3), rng.uniform(.03, .22)) if rng.random() < .13 else None
        fall = (rng.uniform(-2.5, -.5), rng.uniform(.05, .25)) if len(holes) == 1 and rng.random() < .04 else None
        slid = bendable and last == h and nb == br and pend is not None and rng.random() < .5 and pend[1] != R[h - 1] - bend
        if slid:
            g = min(rng.uniform(.03, .16), dur * .7); d = pend[1] + pend[6] - (R[h - 1] - bend + off)
            a0 = pend[0]; p0 = int(round(pend[1] + pend[2])) - LO
            mark(p0, a0, a0 + g / 2, note)
            event(a0, b, R[h - 1] - bend, tune + reed_c[nb, h - 1] + off, pend[3], h, nb, .004, rel, glide=(d, g), lab_a=a0 + g / 2)
            pend = (b, R[h - 1] - bend, tune + reed_c[nb, h - 1] + off, pend[3], h, nb, off); t = b + (0 if rng.random() < .5 else gap); continue
        for j, x in enumerate(holes):
            m = R[x - 1] - (bend if j == 0 else 0)
            event(t + (rng.uniform(0, .025) if j else 0), b - (rng.uniform(0, .03) if j else 0), m, tune + reed_c[nb, x - 1] + off, lev * 10 ** ((rng.normal(oct_lev, 1.5) if mode == "octaves" else (rng.uniform(-9, 3) if rng.random() < .3 else rng.normal(*upper))) / 20 if j else 0), x, nb, att, rel, glide if len(holes) == 1 else None, fall)
        if len(holes) > 1 and rng.random() < .2:
            for x in (holes[0] - 1, holes[-1] + 1):
                if 1 <= x <= 10: event(t, b, R[x - 1], tune + reed_c[nb, x - 1], lev * 10 ** (rng.uniform(-32, -13) / 20), x, nb, att, rel, label=False)
        if same and pend is not None and t - pend[0] < .2 and rng.random() < .85:       # a dip rather than silence before a repeat
            event(pend[0] - .01, t + .01, pend[1], pend[2], pend[3] * 10 ** (-rng.uniform(2.5, dipmax) / 20), pend[4], pend[5], .01, .01, label=False)
        pend = (b, R[holes[0] - 1] - bend, tune + reed_c[nb, holes[0] - 1] + off, lev, holes[0], nb, off) if len(holes) == 1 else None
        if len(holes) == 1 and rng.random() < .16:
            x = h + int(rng.choice([-1, 1]))
            if 1 <= x <= 10:
                d = rng.uniform(-36, -9); la = t + (rng.uniform(0, dur * .5) if rng.random() < .5 else 0)
                event(la, la + (b - la) * rng.uniform(.2, 1), R[x - 1], tune + reed_c[nb, x - 1], lev * 10 ** (d / 20), x, nb, att, rel, label=False)
                if d > -14: mark(R[x - 1] - LO, la - .05, b + .05, mask, 0)
        t += dur; br, last = nb, h
        if rng.random() < .06: t += rng.uniform(.2, 1.2)
    # strings that play along and are no notes
    if rng.random() < .22:
        gl = 10 ** (rng.uniform(-30, -8) / 20); beat = rng.uniform(.18, .7); ph = rng.uniform(0, beat); root = int(rng.integers(38, 58)); strum = rng.random() < .5
        for v in range(4):
            iv = [0, 7, 12, 16][v]; tt = ph + v * (.012 if strum else beat / 4)
            sp = 10 ** ((-np.arange(NH) * rng.uniform(.8, 2.5) + rng.normal(0, 4, NH)) / 20)
            while tt < SEC:
                i0, i1 = max(0, int(tt * CR)), min(C, int((tt + beat) * CR)); g = grid[i0:i1] - tt
                if i1 > i0:
                    amp[V - 4 + v, i0:i1] = gl * np.exp(-g / rng.uniform(.15, .9)); f0[V - 4 + v, i0:i1] = 440 * 2 ** ((root + iv - 69) / 12)
                    spec[V - 4 + v, i0:i1] = sp[None] * np.exp(-g[:, None] * np.arange(NH)[None] * rng.uniform(.1, .8))
                tt += beat
                if rng.random() < .2: root = int(np.clip(root + rng.choice([-5, -2, 2, 5, 7]), 36, 60))
    aug, eq = conditions(rng)
    return f0, amp, spec.astype(np.float16), *(x.astype(np.float16) for x in (note, onset, shake, mask)), breath, aug, eq


class DS(torch.utils.data.IterableDataset):
    def __init__(s, seed): s.seed = seed
    def __iter__(s):
        w = torch.utils.data.get_worker_info(); rng = np.random.default_rng([s.seed, w.id if w else 0])
        torch.set_num_threads(1)
        while True: yield tuple(torch.from_numpy(np.ascontiguousarray(x)) for x in clip(rng))


class Recorded(torch.utils.data.IterableDataset):
    def __init__(s, seed, clips): s.seed, s.clips = seed, clips
    def __iter__(s):
        w = torch.utils.data.get_worker_info(); rng = np.random.default_rng([s.seed, 7, w.id if w else 0])
        torch.set_num_threads(1); shares = recordings.shares(s.clips)
        while True: yield tuple(torch.from_numpy(np.ascontiguousarray(x)) for x in (*recordings.draw(rng, s.clips, shares, LO, NP, SEC), *conditions(rng)))


def conditions(rng):
    aug = np.array([rng.uniform(.05, 1.2), rng.uniform(-4, 18) if rng.random() < .75 else 30, rng.uniform(5, 58), rng.uniform(3000, 11000), rng.random(), np.exp(rng.normal(-2, 1)),
                    rng.uniform(0, .8) * (rng.random() < .25), rng.random(), rng.normal(0, .45)], np.float32)
    return aug, np.interp(np.linspace(0, 9, 64), np.arange(10), rng.normal(0, rng.uniform(1, 8), 10)).astype(np.float32)


TALK = None


def dry(f0, amp, spec, breath):
    dev = f0.device; B = f0.shape[0]
    up = lambda x: Fn.interpolate(x, size=N, mode="linear", align_corners=False)
    fu = up(f0)
    ph = (torch.cumsum(fu.double() * (2 * np.pi / SR), -1).remainder(2 * np.pi)).float()
    turn = torch.rand(B, V, NH, device=dev) * 6.28
    y = partials(f0, amp, spec, ph, turn) if dev.type == "cuda" and PARTIALS and not os.environ.get("PLAIN") else partials_plainly(fu, up(amp), spec, ph, turn)
    lv0 = y.pow(2).mean(1, keepdim=True).sqrt() + 1e-6
    return y + torch.randn(B, N, device=dev) * up(breath[:, None])[:, 0] * lv0


def partials_plainly(fu, a, spec, ph, turn):
    up = lambda x: Fn.interpolate(x, size=N, mode="linear", align_corners=False); y = torch.zeros_like(a[:, 0])
    for h in range(NH): y += (a * up(spec[..., h].float()) * (fu * (h + 1) < SR * .47) * torch.sin((h + 1) * ph + turn[..., h:h + 1])).sum(1)
    return y


PARTIALS = False
try:
    import triton, triton.language as tl

    @triton.jit
    def partials_kernel(f0, amp, spec, ph, turn, y, V: tl.constexpr, C: tl.constexpr, NH: tl.constexpr, N: tl.constexpr, TOP: tl.constexpr, BLOCK: tl.constexpr):
        b = tl.program_id(1); n = tl.program_id(0) * BLOCK + tl.arange(0, BLOCK); inside = n < N
        pos = tl.maximum((n.to(tl.float32) + .5) * (C / N) - .5, 0.); i0 = tl.minimum(pos.to(tl.int32), C - 1); i1 = tl.minimum(i0 + 1, C - 1); w = pos - i0.to(tl.float32)
        total = tl.zeros((BLOCK,), tl.float32)
        for v in range(V):
            row = (b * V + v) * C
            a = tl.load(amp + row + i0) * (1 - w) + tl.load(amp + row + i1) * w
            if tl.max(a, 0) > 0:
                f = tl.load(f0 + row + i0) * (1 - w) + tl.load(f0 + row + i1) * w
                p = tl.load(ph + (b * V + v).to(tl.int64) * N + n, mask=inside, other=0.)
                for h in range(NH):
                    s = tl.load(spec + (row + i0) * NH + h).to(tl.float32) * (1 - w) + tl.load(spec + (row + i1) * NH + h).to(tl.float32) * w
                    x = p * (h + 1) + tl.load(turn + (b * V + v) * NH + h)
                    total += tl.where(f * (h + 1) < TOP, a * s * tl.sin(x), 0.)
        tl.store(y + b.to(tl.int64) * N + n, total, mask=inside)

    def partials(f0, amp, spec, ph, turn):
        B = f0.shape[0]; y = torch.empty(B, N, device=f0.device)
        partials_kernel[(triton.cdiv(N, 512), B)](f0.contiguous(), amp.contiguous(), spec.contiguous(), ph, turn, y, V, C, NH, N, SR * .47, 512)
        return y
    PARTIALS = True
except ImportError: pass


def wet(y, aug, eq):
    dev = y.device; B = y.shape[0]
    n = int(1.0 * SR); tt = torch.arange(n, device=dev) / SR
    ir = torch.randn(B, n, device=dev) * 10 ** (-3 * tt[None] / aug[:, 0:1])
    ir[:, :60] = 0; ir = ir / ir.norm(dim=1, keepdim=True) * 10 ** (-aug[:, 1:2] / 20)
    k = (torch.rand(B, 6, device=dev) * .03 * SR).long() + 40                                # a few early reflections
    ir.scatter_add_(1, k, torch.randn(B, 6, device=dev) * .25 * 10 ** (-aug[:, 1:2] / 20)); ir[:, 0] = 1
    on = (torch.rand(B, 1, device=dev) < .12).float(); d = (torch.rand(B, 1, device=dev) * .37 * SR).long() + int(.08 * SR); g = .15 + .45 * torch.rand(B, 1, device=dev)
    ir.scatter_add_(1, d, on * g); ir.scatter_add_(1, 2 * d, on * g * g * (2 * d < n).float())    # an echo that comes twice
    F = torch.fft.rfft(y, N + n) * torch.fft.rfft(ir, N + n)
    fr = torch.linspace(0, SR / 2, F.shape[1], device=dev)
    pos = (torch.log2(torch.clamp(fr, 60) / 60) / 7.5 * 63).clamp(0, 62.99); i = pos.long(); w = pos - i
    g = eq[:, i] * (1 - w) + eq[:, i + 1] * w
    hp = torch.where(torch.rand(B, 1, device=dev) < .3, torch.rand(B, 1, device=dev) * 350 + 30, torch.full((B, 1), 20., device=dev))
    g = 10 ** (g / 20) / (1 + (fr[None] / aug[:, 3:4]) ** 8) / (1 + (hp / (fr[None] + 1)) ** 6)
    y = torch.fft.irfft(F * g, N + n)[:, :N]
    lv = y.pow(2).mean(1, keepdim=True).sqrt() + 1e-6
    nz = torch.randn(B, N, device=dev); K = torch.fft.rfft(nz); K = K / torch.sqrt(torch.linspace(1, 400, K.shape[1], device=dev)) ** (aug[:, 4:5] * 2.4); nz = torch.fft.irfft(K, N)
    nz = nz / (nz.std(1, keepdim=True) + 1e-9)
    sw = 1 + .8 * torch.sin(torch.arange(N, device=dev)[None] / SR * 6.28 * torch.rand(B, 1, device=dev) * 2 + 6 * torch.rand(B, 1, device=dev)) * (torch.rand(B, 1, device=dev) < .4)
    y = y + nz * sw * lv * 10 ** (-aug[:, 2:3] / 20)
    on = (torch.rand(B, 1, device=dev) < .12).float(); K = torch.fft.rfft(torch.randn(B, N, device=dev)); f = torch.linspace(0, SR / 2, K.shape[1], device=dev)[None]      # traffic
    K = K / (1 + (f / (80 + 500 * torch.rand(B, 1, device=dev))) ** (1.5 + 2 * torch.rand(B, 1, device=dev))); nz = torch.fft.irfft(K, N); nz = nz / (nz.std(1, keepdim=True) + 1e-9)
    pass_by = .3 + torch.sin(torch.arange(N, device=dev)[None] / N * 3.1416 * (1 + torch.rand(B, 1, device=dev)) + 3 * torch.rand(B, 1, device=dev)).abs()
    y = y + on * nz * pass_by * lv * 10 ** ((torch.rand(B, 1, device=dev) * 28 - 20) / 20)
    hum = (torch.rand(B, 1, device=dev) < .1).float() * 10 ** (-(torch.rand(B, 1, device=dev) * 25 + 8) / 20)
    tt = torch.arange(N, device=dev)[None] / SR; hz = torch.where(torch.rand(B, 1, device=dev) < .5, 50., 60.)
    y = y + hum * lv * (torch.sin(6.2832 * hz * tt) + .5 * torch.sin(6.2832 * 2 * hz * tt) + .3 * torch.sin(6.2832 * 3 * hz * tt))
    # metronome and other knocks
    ck = (torch.rand(B, 1, device=dev) < .1).float() * 10 ** (-(torch.rand(B, 1, device=dev) * 22 - 6) / 20)
    per = .25 + torch.rand(B, 1, device=dev) * .7; pt = (tt + torch.rand(B, 1, device=dev)) % per
    y = y + ck * lv * 3 * torch.exp(-pt / (.002 + .02 * torch.rand(B, 1, device=dev))) * torch.where(torch.rand(B, 1, device=dev) < .6, torch.sin(6.2832 * (700 + 2000 * torch.rand(B, 1, device=dev)) * pt), torch.randn(B, N, device=dev))
    k = torch.randint(0, TALK.shape[0] - N, (B,)).tolist()
    tk = torch.stack([TALK[i:i + N] for i in k]).float() / 32768; on = (torch.rand(B, 1, device=dev) < .28).float()
    a0 = (torch.rand(B, 1, device=dev) * N).long(); m = torch.where(torch.rand(B, 1, device=dev) < .5, (torch.arange(N, device=dev)[None] > a0).float(), torch.ones(1, 1, device=dev))
    y = y + on * m * tk / (tk.std(1, keepdim=True) + 1e-6) * lv * 10 ** ((torch.rand(B, 1, device=dev) * 26 - 20) / 20)
    # levelling that pumps
    p = Fn.avg_pool1d(y.pow(2)[:, None], 2205, 441, 1102, count_include_pad=False)[:, 0].sqrt() + .02 * lv
    gain = Fn.interpolate((p / lv)[:, None], size=N, mode="linear", align_corners=False)[:, 0] ** -aug[:, 6:7]
    y = y * gain
    # a coder that leaves out what is far below its neighbours, frame by frame
    cd = aug[:, 7] < .3
    if cd.any():
        z = y[cd]; W = torch.hann_window(1024, device=dev); Z = torch.stft(z, 1024, 512, window=W, return_complex=True); M = Z.abs()
        loc = Fn.max_pool2d(M[:, None], (25, 1), 1, (12, 0))[:, 0]; thr = 10 ** (-(torch.rand(z.shape[0], 1, 1, device=dev) * 28 + 14) / 20)
        Z = torch.where(M > loc * thr, Z, Z * 0) + torch.randn_like(M) * M * .08 * torch.rand(z.shape[0], 1, 1, device=dev)
        y = y.clone(); y[cd] = torch.istft(Z, 1024, 512, window=W, length=N)
    y = y / (y.abs().amax(1, keepdim=True) + 1e-6)
    d = torch.where(aug[:, 7:8] > .92, 4., torch.where(aug[:, 7:8] > .85, 2., .0))
    y = torch.where(d > 0, torch.tanh(y * (1 + d)), y)
    return y


# the front end, as the product has it: compressed magnitude, three places a semitone
PLACE_LO, PLACE_HI = 28.0, 136.0
PLACES = int((PLACE_HI - PLACE_LO) * 3)
TOP = {"long": 116.0, "short": 136.0}
HARM = [0, 36, 57, 72, 84, 93, 101, 108]
OTHER = [-36, -57, -72, -21, 21, 48, 65, 78]
OFFS = [(s + d) for s in HARM for d in (-1, 0, 1)] + [-3, 3] + OTHER


class Front(nn.Module):
    def __init__(s):
        super().__init__()
        for name, n, L in (("long", 2048, 2 * round(.0928 * SR / 2)), ("short", 1024, 2 * round(.0464 * SR / 2))):
            w = torch.zeros(n, dtype=torch.float64); i = torch.arange(L, dtype=torch.float64)
            w[:L] = (2 / L) * (1 - torch.cos(2 * np.pi * (i + .5) / L)); s.register_buffer("w_" + name, w.float())
            M = np.zeros((n // 2 + 1, PLACES), np.float32)
            for j in range(PLACES):
                m = PLACE_LO + j / 3
                if m > TOP[name]: continue
                x = 440 * 2 ** ((m - 69) / 12) / SR * n
                if x > n // 2 - 3: continue
                b = max(0, int(np.floor(x)) - 1); q = x - b - 1
                for d, v in enumerate((.5 * q * (-1 + q * (2 - q)), 1 + .5 * q * q * (3 * q - 5), .5 * q * (1 + q * (4 - 3 * q)), .5 * q * q * (q - 1))): M[b + d, j] += v
            s.register_buffer("M_" + name, torch.from_numpy(M))
            s.register_buffer("i_" + name, (torch.round(torch.arange(T, dtype=torch.float64) * HOP).long() - L // 2)[:, None] + torch.arange(n)[None])
        s.n = {"long": 2048, "short": 1024}

    def mags(s, y, name):
        n = s.n[name]; i = getattr(s, "i_" + name)
        if name == "long": i = i[::2]
        yp = Fn.pad(y, (4096, 4096)); X = torch.fft.rfft(yp[:, i + 4096] * getattr(s, "w_" + name), dim=-1).abs()
        X[..., 0] = 0
        return X

    def reference(s, mag):
        p = mag.pow(2).mean(1); n = p.shape[1]; c = Fn.pad(torch.cumsum(p, 1), (1, 0)); hz = SR / 2048; best = torch.zeros(p.shape[0], device=p.device)
        k = int(np.ceil(150 / hz))
        while k * 2 ** .5 < n - 1:
            a, b = int(k / 2 ** .5), min(n - 1, int(np.ceil(k * 2 ** .5)) + 1); best = torch.maximum(best, (c[:, b] - c[:, a]) / (b - a)); k += 1
        return (.1 * best.sqrt()).clamp(min=1e-6)

    def forward(s, y, shift=None):
        ml, ms = s.mags(y, "long"), s.mags(y, "short"); r = s.reference(ml)
        if shift is not None: r = r * 10 ** (shift)
        r = r[:, None, None]
        l = torch.log1p(ml / r) @ s.M_long; l = l.repeat_interleave(2, 1)[:, :T]
        return l, torch.log1p(ms / r) @ s.M_short                               # B, T, PLACES

    def features(s, l, sh):
        """K, B, NP, T"""
        first = int((LO - PLACE_LO) * 3) + 72; out = []
        for z in (l, sh):
            z = Fn.pad(z.transpose(1, 2), (0, 0, 72, 132)).to(torch.bfloat16 if z.is_cuda else z.dtype).contiguous()
            for o in OFFS: out.append(z[:, first + o:first + o + 3 * NP:3])
        lev = sh.mean(2)[:, None]; flux = Fn.pad((sh[:, 1:] - sh[:, :-1]).clamp(min=0).mean(2), (1, 0))[:, None] * 8
        out += [v.to(out[0].dtype).expand(-1, NP, -1) for v in (lev, flux)]
        return torch.stack(out)


K = 2 * len(OFFS) + 2


DILATIONS = (1, 2, 4)
BESIDE = [-24, -19, -12, -7, -5, -4, -3, -2, -1, 1, 2, 3, 4, 5, 7, 12, 19, 24]


class Mix(torch.autograd.Function):
    """Weights times channels; what the weights learn is summed in parts, as one long sum would keep one processor busy."""
    @staticmethod
    def forward(ctx, w, x): ctx.save_for_backward(w, x); return w.to(x.dtype) @ x

    @staticmethod
    def backward(ctx, g):
        w, x = ctx.saved_tensors; n = x.shape[1] // 400; parts = lambda v: v.view(v.shape[0], n, 400)
        return torch.bmm(parts(g).transpose(0, 1), parts(x).permute(1, 2, 0)).float().sum(0), w.to(x.dtype).T @ g


class Norm(nn.BatchNorm1d):
    def forward(s, x): return super().forward(x.reshape(1, x.shape[0], -1)).view_as(x)


class Rows(nn.Module):
    """Each pitch by itself first: harmonics in, time by separable filters; then once more, knowing what is heard of the others.
    Channels stand first, so that everything is a product of matrices; a filter along time is one with a band."""
    def __init__(s, c, second=int(os.environ.get("SECOND", "32")), taps=9):
        super().__init__(); p = lambda *n: nn.Parameter(torch.randn(*n) / n[-1] ** .5)
        s.i, s.bi, s.bn = p(c, K), Norm(c), nn.ModuleList(Norm(c) for _ in DILATIONS)
        s.dw, s.pw = nn.ParameterList(p(c, taps) for _ in DILATIONS), nn.ParameterList(p(c, c) for _ in DILATIONS)
        s.h, s.hb, s.j, s.bj, s.h2, s.h2b = p(3, c), nn.Parameter(torch.zeros(3)), p(second, c + 2 * len(BESIDE)), Norm(second), p(3, second), nn.Parameter(torch.zeros(3))
        for n, d in enumerate(DILATIONS): s.register_buffer(f"band{n}", torch.stack([torch.diag(torch.ones(T - abs(o * d)), -o * d) for o in range(-(taps // 2), taps // 2 + 1)]), persistent=False)

    def mix(s, w, x): return Mix.apply(w, x.reshape(x.shape[0], -1).contiguous()).view(w.shape[0], *x.shape[1:])

    def along(s, n, x): return torch.bmm(x.reshape(x.shape[0], -1, T), torch.einsum("ck,kts->cts", s.dw[n], getattr(s, f"band{n}")).to(x.dtype)).view_as(x)

    def told(s, x, z):
        t = ((z[:2].float() + 4).clamp(0, 8) / 8).to(x.dtype); m = BESIDE[-1]; t = Fn.pad(t, (0, 0, m, m))
        return torch.cat([x] + [t[:, :, m + o:m + o + NP] for o in BESIDE])

    def forward(s, x, look=lambda norm, x: norm(x)):
        """x: K, B, NP, T; look: how a layer is normed"""
        x = torch.relu(look(s.bi, s.mix(s.i, x)))
        for n in range(len(DILATIONS)): x = x + torch.relu(look(s.bn[n], s.mix(s.pw[n], s.along(n, x))))
        z = s.mix(s.h, x).float() + s.hb[:, None, None, None]
        x = torch.relu(look(s.bj, s.mix(s.j, s.told(x, z))))
        return z, z + s.mix(s.h2, x).float() + s.h2b[:, None, None, None]


def start_from(net, path, x):
    if path.endswith(".pt"):
        old = torch.load(path, map_location=x.device); c, was = net.i.shape[0], old["i"].shape[0]
        with torch.no_grad():
            for name, v in net.state_dict().items():                     # what is new is not listened to yet
                o = old[name]
                if name.split(".")[0] in ("pw", "h", "j", "h2"): v[:o.shape[0]] = 0
                if name == "j": v[:o.shape[0], :was], v[:o.shape[0], c:] = o[:, :was], o[:, was:]
                else: v[tuple(slice(n) for n in o.shape)] = o
        return
    """Takes over the weights of a network that has fewer looks; its folded norms are unfolded by what these frames give."""
    w = json.load(open(path)); t = lambda v, *n: torch.tensor(v, device=x.device).view(*n).float(); c = w["channels"]
    old = w["first"]["weights"]; n = w["inputs"]; half = (n - 2) // 2; mine = len(OFFS); W = torch.zeros(c, K, device=x.device); O = t(old, c, n)
    W[:, :half] = O[:, :half]; W[:, mine:mine + half] = O[:, half:2 * half]; W[:, -2:] = O[:, -2:]
    with torch.no_grad():
        net.i.copy_(W); net.h.copy_(t(w["heads"]["weights"], 3, c)); net.hb.copy_(t(w["heads"]["bias"], 3))
        for k, b in enumerate(w["blocks"]): net.dw[k].copy_(t(b["depthwise"], c, -1)); net.pw[k].copy_(t(b["weights"], c, c))
        net.j.copy_(t(w["second"]["weights"], *net.j.shape)); net.h2.copy_(t(w["secondHeads"]["weights"], *net.h2.shape)); net.h2b.copy_(t(w["secondHeads"]["bias"], 3))
        bias = iter([w["first"]["bias"], *(b["bias"] for b in w["blocks"]), w["second"]["bias"]])
        def look(norm, y):
            f = y.float().flatten(1); m, v = f.mean(1), f.var(1, unbiased=False)
            norm.weight.copy_((v + norm.eps).sqrt()); norm.bias.copy_(t(next(bias), -1) + m); norm.running_mean.copy_(m); norm.running_var.copy_(v)
            return (f + (norm.bias - m)[:, None]).view_as(y).to(y.dtype)
        net(x, look)


def train(rank, world, out, budget, channels, seed):
    global TALK
    gpu = torch.cuda.is_available(); dev = torch.device("cuda", rank) if gpu else torch.device("cpu")
    if gpu: torch.cuda.set_device(dev)
    dist.init_process_group("nccl" if gpu else "gloo", init_method="tcp://127.0.0.1:" + os.environ.get("PORT", "29511"), rank=rank, world_size=world)
    torch.manual_seed(seed); net = Rows(channels).to(dev); torch.manual_seed(seed * 1000 + rank)
    if rank == 0: print("weights", sum(p.numel() for p in net.parameters()), "on", world, flush=True)
    TALK = torch.from_numpy(np.load(os.path.join(HERE, "talk.npy"))).to(dev)
    front = Front().to(dev); params = list(net.parameters())
    opt = torch.optim.AdamW(params, RATE, weight_decay=1e-4); bs = int(os.environ.get("BATCH", "32"))
    dl = iter(torch.utils.data.DataLoader(DS(seed * 1000 + rank), batch_size=bs, num_workers=int(os.environ.get("WORKERS", "14")), prefetch_factor=4))
    rdl, odl = None, None
    if os.environ.get("RECORDINGS"):
        clips, unheard = recordings.load(os.environ["RECORDINGS"], os.environ.get("FOLD")); reals = int(os.environ.get("STRETCHES", "32"))
        if rank == 0: print("recordings", len(clips), "left out", [c["name"] for c in unheard], flush=True)
        rdl = iter(torch.utils.data.DataLoader(Recorded(seed * 1000 + rank, clips), batch_size=reals, num_workers=3, prefetch_factor=4))
        odl = iter(torch.utils.data.DataLoader(Recorded(99, unheard), batch_size=reals, num_workers=1, prefetch_factor=4)) if unheard else None
    pw = torch.tensor([1.3, 3., 1.], device=dev)[:, None, None, None]; wt = torch.tensor([1., 1.5, .5], device=dev)[:, None, None, None]
    bce = lambda z, y, **k: Fn.binary_cross_entropy_with_logits(z.float(), y, reduction="none", **k)

    waited = [0.]

    def batch(twice=True):
        tick = time.time(); got = next(dl); waited[0] += time.time() - tick
        f0, amp, spec, note, on, shk, mask, breath, aug, eq = [x.to(dev, non_blocking=True) for x in got]; note, on, shk, mask = (x.float() for x in (note, on, shk, mask))
        y = dry(f0, amp, spec, breath)
        if twice: y, aug, eq, note, on, shk, mask = torch.cat([y, y]), torch.cat([aug, aug.roll(1, 0)]), torch.cat([eq, eq.roll(1, 0)]), *(torch.cat([v, v]) for v in (note, on, shk, mask))
        y = wet(y, aug, eq); l, s = front(y, aug[:, 8]); return front.features(l, s), torch.stack([note, on, shk]), mask[None]
    def real_batch(rdl):
        y, note, shk, mask, begin, aug, eq = [x.to(dev, non_blocking=True).float() for x in next(rdl)]
        y = y / (y.abs().amax(1, keepdim=True) + 1e-6); k = (torch.rand(len(y), 1, device=dev) < .6).float(); w = wet(y, aug, eq); w = w / (w.abs().amax(1, keepdim=True) + 1e-6)
        y = k * w + (1 - k) * y; l, s = front(y, aug[:, 8]); return front.features(l, s), note, shk, mask, begin

    def real_loss(z, note, shk, mask, begin):
        """z: 3, B, NP, T. Labels by hand are some 30 ms off: an onset counts wherever near it the network hears one."""
        near = Fn.max_pool2d(z[1].float(), (1, 9), 1, (0, 4)); m = mask.transpose(0, 1)
        at = Fn.softplus(-near) * begin * 7
        l = torch.stack([bce(z[0], note, pos_weight=pw[0] * 1.7) * m[0], Fn.softplus(z[1].float()) * m[1] * 1.5, bce(z[2], shk) * m[2] * .5])
        return l.mean((1, 2, 3)), (at * 1.5).mean()

    def held_out():
        if rdl is None or odl is None: return ""
        now = [p.detach().clone() for p in params]; tot = []; was = net.training; net.eval()
        with torch.no_grad():
            for p, e in zip(params, ema): p.copy_(e)
            torch.manual_seed(4)
            if not stretches: stretches.extend(real_batch(odl) for _ in range(12))
            for rx, *r in stretches: l, o = real_loss(net(rx)[1], *r); tot.append(torch.cat([l, o[None]]) * 100)
            for p, e in zip(params, now): p.copy_(e)
        net.train(was); torch.manual_seed(seed * 1000 + rank + step); return ["held out"] + [round(float(v), 3) for v in torch.stack(tot).mean(0)]
    stretches = []

    with torch.no_grad():
        if START: start_from(net, START, batch()[0])
        for p in [*net.parameters(), *net.buffers()]: dist.broadcast(p.data, 0)
        if START and rank == 0: print("before", fresh(net, batch, bce), flush=True)
    if os.environ.get("FREEZE"): net.eval()
    ema = [p.detach().clone() for p in params]; keep = float(os.environ.get("EMA", "0.997")); rlog = []
    step = 0
    if rank == 0 and odl is not None: print(held_out(), flush=True)
    t0, run, share = time.time(), [], 0.; waited[0] = 0.; spent = np.zeros(3); part, parts = (int(v) for v in os.environ.get("PART", "1/1").split("/"))
    while share < 1:
        for g in opt.param_groups: g["lr"] = RATE * min(1, step / 300) * (.5 + .5 * np.cos(np.pi * (part - 1 + share) / parts)) + 2e-5
        tick = time.time()
        with torch.no_grad():
            x, yv, m = batch(); n = x.shape[1]
            if rdl is not None: rx, *r = real_batch(rdl); x = torch.cat([x, rx], 1)
        if step < 60: torch.cuda.synchronize() if gpu else None; spent[1] += time.time() - tick
        z1, z2 = net(x)
        l1, l2 = (bce(z[:, :n], yv, pos_weight=pw) * m * wt for z in (z1, z2))
        loss = (l2.mean() + .4 * l1.mean()) * 10
        if rdl is not None:
            (r1, o1), (r2, o2) = (real_loss(z[:, n:], *r) for z in (z1, z2))
            loss = loss + COUNT * 10 * (r2.mean() + o2 / 3 + .4 * (r1.mean() + o1 / 3))
            rlog.append(torch.cat([r2.detach(), o2.detach()[None]]) * 100)
        opt.zero_grad(); loss.backward()
        flat = torch.cat([p.grad.flatten() for p in params] + [torch.tensor([(time.time() - t0) / budget * world * (rank == 0)], device=dev)])
        dist.all_reduce(flat); flat /= world; share = float(flat[-1]); at = 0
        for p in params: p.grad.copy_(flat[at:at + p.numel()].view_as(p)); at += p.numel()
        nn.utils.clip_grad_norm_(params, 1.); opt.step()
        with torch.no_grad(): torch._foreach_lerp_(ema, params, 1 - keep)
        if step < 60: torch.cuda.synchronize() if gpu else None; spent[2] += time.time() - tick
        if rank == 0 and step == 60: print("ms a step: drawing", waited[0] / 60 * 1e3, "sound", (spent[1] - waited[0]) / 60 * 1e3, "learning", (spent[2] - spent[1]) / 60 * 1e3, flush=True)
        if rank == 0 and step == 60 and (time.time() - t0) / 60 > budget / int(os.environ.get("LEAST", "1")): print("too slow", flush=True); os._exit(3)
        run.append(torch.cat([l1.detach().mean((1, 2, 3)), l2.detach().mean((1, 2, 3))]) * 100); step += 1
        if rank == 0 and step % 250 == 0: print(step, round(time.time() - t0), [round(float(v), 3) for v in torch.stack(run[-250:]).mean(0)], [round(float(v), 3) for v in torch.stack(rlog[-250:]).mean(0)] if rlog else "", held_out(), flush=True); save(net, out, channels, seed)
    if rank > 0: return
    with torch.no_grad():
        for p, e in zip(params, ema): p.copy_(e)
    save(net, out, channels, seed); print("done", step, "steps; fresh draws", fresh(net, batch, bce), flush=True)


def fresh(net, batch, bce):
    """Hundredths of a nat a pitch and frame: by itself, then with the second look; sounding, onset, shake."""
    net.eval(); tot = []
    with torch.no_grad():
        for _ in range(12):
            x, yv, m = batch(False); tot.append(torch.cat([(bce(z, yv) * m).mean((1, 2, 3)) * 100 for z in net(x)]))
    net.train(); return [round(float(v), 3) for v in torch.stack(tot).mean(0)]


def save(net, out, channels, seed):
    os.makedirs(out, exist_ok=True); torch.save(net.state_dict(), f"{out}/{channels}-{seed}.pt")


RATE = float(os.environ.get("RATE", "6e-3")); COUNT = float(os.environ.get("COUNT", "1"))
START = os.environ.get("START")

if __name__ == "__main__":
    out, budget, channels, seed = sys.argv[1], float(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4])
    world = torch.cuda.device_count() or int(os.environ.get("CPUS", "1"))
    os.environ.setdefault("NCCL_NVLS_ENABLE", "0")
    torch.multiprocessing.spawn(train, (world, out, budget, channels, seed), nprocs=world)
