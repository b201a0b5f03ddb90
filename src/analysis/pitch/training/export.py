"""Writes the weights of the pitch network, normalisation folded in, as JSON. usage: export.py WEIGHTS.pt OUT.json"""
import json, sys, torch, os
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from train import BESIDE, DILATIONS
s = torch.load(sys.argv[1], map_location='cpu'); eps = 1e-5
gain = lambda p: s[p+'.weight'] / torch.sqrt(s[p+'.running_var'] + eps)
r = lambda t: [float(f'{v:.4g}') for v in t.double().flatten().tolist()]
layer = lambda w, p: {'weights': r(s[w] * gain(p)[:, None]), 'bias': r(s[p+'.bias'] - s[p+'.running_mean'] * gain(p))}
blocks = [{'dilation': d, 'depthwise': r(s[f'dw.{i}']), **layer(f'pw.{i}', f'bn.{i}')} for i, d in enumerate(DILATIONS)]
layers = {'first': layer('i', 'bi'), 'blocks': blocks, 'heads': {'weights': r(s['h']), 'bias': r(s['hb'])},
          'second': {'channels': s['j'].shape[0], 'beside': BESIDE, **layer('j', 'bj')}, 'secondHeads': {'weights': r(s['h2']), 'bias': r(s['h2b'])}}
card = json.load(open(sys.argv[2]))['card'] if os.path.exists(sys.argv[2]) else {}  # its figures are to be written anew by hand
json.dump({'card': card, 'channels': s['i'].shape[0], 'inputs': s['i'].shape[1], **layers}, open(sys.argv[2], 'w'), separators=(',', ':'))
print(s['i'].shape[0], os.path.getsize(sys.argv[2]))
