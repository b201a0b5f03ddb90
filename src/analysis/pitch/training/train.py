"""Trains the pitch network on drawn sound, on all GPUs of one machine.
usage: train.py OUT SECONDS CHANNELS SEED  (talk.npy beside it: int16 speech at 22.05 kHz)"""
import os, sys, time
import numpy as np
import torch, torch.distributed as dist, torch.nn as nn, torch.nn.functional as Fn
HERE = os.path.dirname(os.path.abspath(__file__))
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
    tune = rng.normal(0, .12); reed_c = rng.normal(0, rng.uniform(.02, .1), (2, 10))
    base = rng.normal(0, rng.choice([3, 6, 9]), (2, 10, NH)) * rng.uniform(.3, 1) + rng.normal(0, 5, NH) - np.arange(NH) * rng.uniform(.2, 1.8)
    boost = int(rng.integers(0, 6)); base[:, :, boost] += rng.uniform(0, 15) * (rng.random() < .7)
    if rng.random() < .2: base[:, :, 0] -= rng.uniform(5, 20)
    mode = rng.choice(["melody", "chords", "mixed", "shakes", "fast", "repeats", "detached", "octaves", "chug"], p=[.22, .11, .16, .06, .11, .11, .06, .07, .10])
    rate = np.exp(rng.uniform(np.log(.1), np.log(.9)))
    if mode == "fast": rate = rng.uniform(.065, .16)
    if mode == "repeats": rate = rng.uniform(.075, .3)
    if mode == "chug": rate = rng.uniform(.1, .4); chug_len = rng.uniform(.25, .95); chug_k = int(rng.choice([1, 2, 2, 3]))
    span = int(rng.choice([3, 3, 4, 5, 2])); oct_lev = rng.normal(-2, 3)
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
            k = int(rng.choice([1, 2, 3, 4], p=[.5, .3, .13, .07])); holes = [x for x in range(h, h + k + 1) if x <= 10]
        if (mode in ("mixed", "melody") and r > .94) or (mode == "chords" and r > .85):
            holes = [x for x in (h, h + int(rng.choice([2, 3, 3, 4, 5]))) if x <= 10]
        if mode == "octaves" and rng.random() < .8 and h + span <= 10:
            sp = span if rng.random() < .7 else span + int(rng.choice([-1, 1]))
            if h + sp <= 10: holes = [h, h + sp]
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
            q = rng.uniform(.027, .065); n = int(np.clip(dur * 2 / q, 6, 60)); over = rng.uniform(.0, .6)
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
            event(t + (rng.uniform(0, .025) if j else 0), b - (rng.uniform(0, .03) if j else 0), m, tune + reed_c[nb, x - 1] + off, lev * 10 ** ((rng.normal(oct_lev, 1.5) if mode == "octaves" else rng.uniform(-9, 3)) / 20 if j else 0), x, nb, att, rel, glide if len(holes) == 1 else None, fall)
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
    aug = np.array([rng.uniform(.05, 1.2), rng.uniform(-4, 18) if rng.random() < .75 else 30, rng.uniform(5, 58), rng.uniform(3000, 11000), rng.random(), np.exp(rng.normal(-2, 1)),
                    rng.uniform(0, .8) * (rng.random() < .25), rng.random(), rng.normal(0, .45)], np.float32)
    eq = np.interp(np.linspace(0, 9, 64), np.arange(10), rng.normal(0, rng.uniform(1, 8), 10)).astype(np.float32)
    return f0, amp, spec.astype(np.float16), note, onset, shake, mask, breath, aug, eq


class DS(torch.utils.data.IterableDataset):
    def __init__(s, seed): s.seed = seed
    def __iter__(s):
        w = torch.utils.data.get_worker_info(); rng = np.random.default_rng([s.seed, w.id if w else 0])
        torch.set_num_threads(1)
        while True: yield tuple(torch.from_numpy(np.ascontiguousarray(x)) for x in clip(rng))


TALK = None


def dry(f0, amp, spec, breath):
    dev = f0.device; B = f0.shape[0]
    up = lambda x: Fn.interpolate(x, size=N, mode="linear", align_corners=False)
    fu = up(f0)
    ph = torch.cumsum(fu.double() * (2 * np.pi / SR), -1).remainder(2 * np.pi).float()
    a = up(amp); y = torch.zeros(B, N, device=dev)
    for h in range(NH):
        s = up(spec[..., h].float()); ok = (fu * (h + 1) < SR * .47)
        y += (a * s * ok * torch.sin((h + 1) * ph + torch.rand(B, V, 1, device=dev) * 6.28)).sum(1)
    lv0 = y.pow(2).mean(1, keepdim=True).sqrt() + 1e-6
    return y + torch.randn(B, N, device=dev) * up(breath[:, None])[:, 0] * lv0


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
OTHER = [-36, -57, -72, -21, 21, 48]
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
        """B, K, NP, T"""
        B = l.shape[0]; lp, sp = Fn.pad(l, (60, 120)), Fn.pad(sh, (60, 120))
        first = int((LO - PLACE_LO) * 3) + 60; out = []
        for z in (lp, sp):
            for o in OFFS: out.append(z[:, :, first + o:first + o + 3 * NP:3])
        lev = sh.mean(2, keepdim=True); flux = Fn.pad((sh[:, 1:] - sh[:, :-1]).clamp(min=0).mean(2, keepdim=True), (0, 0, 1, 0)) * 8
        out += [lev.expand(-1, -1, NP), flux.expand(-1, -1, NP)]
        return torch.stack(out, 1).transpose(2, 3)


K = 2 * len(OFFS) + 2


BESIDE = [-24, -19, -12, -7, -5, -4, -3, -2, -1, 1, 2, 3, 4, 5, 7, 12, 19, 24]


class Rows(nn.Module):
    """Each pitch by itself first: harmonics in, time by separable convolutions; then once more, knowing what is heard of the others."""
    def __init__(s, c, second=32, taps=9):
        super().__init__(); s.i = nn.Conv2d(K, c, 1, bias=False); s.bi = nn.BatchNorm2d(c); s.dw, s.pw, s.bn = nn.ModuleList(), nn.ModuleList(), nn.ModuleList()
        for d in (1, 2, 4):
            s.dw.append(nn.Conv2d(c, c, (1, taps), padding=(0, d * (taps // 2)), dilation=(1, d), groups=c, bias=False))
            s.pw.append(nn.Conv2d(c, c, 1, bias=False)); s.bn.append(nn.BatchNorm2d(c))
        s.h = nn.Conv2d(c, 3, 1)
        s.j = nn.Conv2d(c + 2 * len(BESIDE), second, 1, bias=False); s.bj = nn.BatchNorm2d(second); s.h2 = nn.Conv2d(second, 3, 1)

    def forward(s, x):
        x = torch.relu(s.bi(s.i(x)))
        for dw, pw, bn in zip(s.dw, s.pw, s.bn): x = x + torch.relu(bn(pw(dw(x))))
        z = s.h(x)
        told = ((z[:, :2].float() + 4).clamp(0, 8) / 8).to(x.dtype); m = BESIDE[-1]; told = Fn.pad(told, (0, 0, m, m))
        x = torch.cat([x] + [told[:, :, m + o:m + o + NP] for o in BESIDE], 1)
        return z, z + s.h2(torch.relu(s.bj(s.j(x))))


def train(rank, world, out, budget, channels, seed):
    global TALK
    gpu = torch.cuda.is_available(); dev = torch.device("cuda", rank) if gpu else torch.device("cpu")
    if gpu: torch.cuda.set_device(dev)
    dist.init_process_group("nccl" if gpu else "gloo", init_method="tcp://127.0.0.1:29511", rank=rank, world_size=world)
    torch.manual_seed(seed); net = Rows(channels).to(dev); torch.manual_seed(seed * 1000 + rank)
    if rank == 0: print("weights", sum(p.numel() for p in net.parameters()), "on", world, flush=True)
    for p in net.parameters(): dist.broadcast(p.data, 0)
    TALK = torch.from_numpy(np.load(os.path.join(HERE, "talk.npy"))).to(dev)
    front = Front().to(dev); params = list(net.parameters())
    opt = torch.optim.AdamW(params, RATE, weight_decay=1e-4); bs = int(os.environ.get("BATCH", "32"))
    dl = iter(torch.utils.data.DataLoader(DS(seed * 1000 + rank), batch_size=bs, num_workers=int(os.environ.get("WORKERS", "14")), prefetch_factor=4))
    pw = torch.tensor([1.3, 3., 1.], device=dev)[None, :, None, None]; wt = torch.tensor([1., 1.5, .5], device=dev)[None, :, None, None]
    bce = lambda z, y, **k: Fn.binary_cross_entropy_with_logits(z.float(), y, reduction="none", **k)

    def batch(twice=True):
        f0, amp, spec, note, on, shk, mask, breath, aug, eq = [x.to(dev, non_blocking=True) for x in next(dl)]
        y = dry(f0, amp, spec, breath)
        if twice: y, aug, eq, note, on, shk, mask = torch.cat([y, y]), torch.cat([aug, aug.roll(1, 0)]), torch.cat([eq, eq.roll(1, 0)]), *(torch.cat([v, v]) for v in (note, on, shk, mask))
        y = wet(y, aug, eq); l, s = front(y, aug[:, 8]); return front.features(l, s), torch.stack([note, on, shk], 1), mask[:, None]
    t0, step, run, share = time.time(), 0, [], 0.
    while share < 1:
        for g in opt.param_groups: g["lr"] = RATE * min(1, step / 300) * (.5 + .5 * np.cos(np.pi * share)) + 2e-5
        with torch.no_grad(): x, yv, m = batch()
        with torch.autocast(dev.type, torch.bfloat16): z1, z2 = net(x)
        l1, l2 = (bce(z, yv, pos_weight=pw) * m * wt for z in (z1, z2))
        loss = (l2.mean() + .4 * l1.mean()) * 10
        opt.zero_grad(); loss.backward()
        flat = torch.cat([p.grad.flatten() for p in params] + [torch.tensor([(time.time() - t0) / budget * world * (rank == 0)], device=dev)])
        dist.all_reduce(flat); flat /= world; share = float(flat[-1]); at = 0
        for p in params: p.grad.copy_(flat[at:at + p.numel()].view_as(p)); at += p.numel()
        nn.utils.clip_grad_norm_(params, 1.); opt.step()
        run.append(torch.cat([l1.detach().mean((0, 2, 3)), l2.detach().mean((0, 2, 3))]) * 100); step += 1
        if rank == 0 and step % 250 == 0: print(step, round(time.time() - t0), [round(float(v), 3) for v in torch.stack(run[-250:]).mean(0)], flush=True); save(net, out, channels, seed)
    if rank > 0: return
    net.eval(); save(net, out, channels, seed)
    torch.manual_seed(99); tot = []
    with torch.no_grad():
        for _ in range(16):
            x, yv, m = batch(False); tot.append(torch.cat([(bce(z, yv) * m).mean((0, 2, 3)) * 100 for z in net(x)]))
    print("done", step, "steps; fresh draws", [round(float(v), 3) for v in torch.stack(tot).mean(0)], flush=True)


def save(net, out, channels, seed):
    os.makedirs(out, exist_ok=True); torch.save(net.state_dict(), f"{out}/{channels}-{seed}.pt")


RATE = 6e-3

if __name__ == "__main__":
    out, budget, channels, seed = sys.argv[1], float(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4])
    world = torch.cuda.device_count() or int(os.environ.get("CPUS", "1"))
    os.environ.setdefault("NCCL_NVLS_ENABLE", "0")
    torch.multiprocessing.spawn(train, (world, out, budget, channels, seed), nprocs=world)
