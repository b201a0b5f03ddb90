"""Writes the weights of the pitch network, batch normalisation folded in, as JSON. usage: export.py WEIGHTS.pt OUT.json"""
import json, sys, numpy as np, torch, os
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from train import BESIDE
s = torch.load(sys.argv[1], map_location='cpu'); eps = 1e-5
fold = lambda p: ((s[p+'.weight'] / torch.sqrt(s[p+'.running_var'] + eps)), s[p+'.bias'] - s[p+'.running_mean'] * s[p+'.weight'] / torch.sqrt(s[p+'.running_var'] + eps))
r = lambda t: [float(f'{v:.4g}') for v in t.double().flatten().tolist()]
g, b = fold('bi'); layers = {'first': {'weights': r(s['i.weight'][:, :, 0, 0] * g[:, None]), 'bias': r(b)}, 'blocks': []}
for i, d in enumerate((1, 2, 4)):
    g, b = fold(f'bn.{i}'); layers['blocks'].append({'dilation': d, 'depthwise': r(s[f'dw.{i}.weight'][:, 0, 0]), 'weights': r(s[f'pw.{i}.weight'][:, :, 0, 0] * g[:, None]), 'bias': r(b)})
layers['heads'] = {'weights': r(s['h.weight'][:, :, 0, 0]), 'bias': r(s['h.bias'])}
g, b = fold('bj'); layers['second'] = {'channels': s['j.weight'].shape[0], 'beside': BESIDE, 'weights': r(s['j.weight'][:, :, 0, 0] * g[:, None]), 'bias': r(b)}
layers['secondHeads'] = {'weights': r(s['h2.weight'][:, :, 0, 0]), 'bias': r(s['h2.bias'])}
c = s['i.weight'].shape[0]
card = json.load(open(sys.argv[2]))['card'] if os.path.exists(sys.argv[2]) else {}  # its figures are to be written anew by hand
json.dump({'card': card, 'channels': c, 'inputs': s['i.weight'].shape[1], **layers}, open(sys.argv[2], 'w'), separators=(',', ':'))
print(c, os.path.getsize(sys.argv[2]))
