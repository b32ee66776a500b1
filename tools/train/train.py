#!/usr/bin/env python3
"""Trains the copper net on generated boards and writes data/copper.net (see README.md beside this).

usage: train.py FOLDER --minutes M --out copper.net [--check CHECK_RECORDS ...]

FOLDER fills with files of records (tools/boards/crop.h), `*.rec`, while training goes on (run.sh); each is taken once it is there. Needs PyTorch and one GPU; nothing of the product needs either."""
import argparse
import copy
import glob
import os
import threading
import time

import numpy as np
import torch
import torch.nn as nn
import torch.nn.functional as F

THIN_WEIGHT, COVERED_WEIGHT = 3, 3  # more, for gaps and necks: one wrong pixel there joins or parts two nets; and for those under print or solder
THIN, COVERED = 224, 255  # as tools/boards/crop.h has them
SIDE, PLANES = 256, 5  # copper, pad, hole, unseen, weight
BINS, PRIOR_PIXELS, PRIOR_LEAST = 32, 20000, 2  # of the colour prior: steps of a colour, as many pixels in all, as many of each


def read_records(path):
    """A record: SIDE*SIDE RGB pixels, then PLANES planes of SIDE*SIDE. To the GPU as [n, 3 + PLANES, SIDE, SIDE]."""
    raw = torch.from_numpy(np.fromfile(path, dtype=np.uint8)).cuda().view(-1, SIDE * SIDE * (3 + PLANES))
    rgb = raw[:, :SIDE * SIDE * 3].reshape(-1, SIDE, SIDE, 3).permute(0, 3, 1, 2)
    return torch.cat([rgb, raw[:, SIDE * SIDE * 3:].reshape(-1, PLANES, SIDE, SIDE)], 1)


class Conv(nn.Module):
    def __init__(self, i, o, stride=1, dilation=1, relu=True):
        super().__init__()
        self.conv = nn.Conv2d(i, o, 3, stride, dilation, dilation, bias=not relu)
        self.norm = nn.BatchNorm2d(o) if relu else None
        self.line = f'conv {i} {o} {stride} {dilation} {"relu" if relu else "none"}'

    def forward(self, x):
        x = self.conv(x)
        return x if self.norm is None else F.relu(self.norm(x))

    @torch.no_grad()
    def folded(self):
        w = self.conv.weight.detach().double()
        if self.norm is None:
            return w, self.conv.bias.detach().double()
        k = self.norm.weight.double() / torch.sqrt(self.norm.running_var.double() + self.norm.eps)
        return w * k[:, None, None, None], (self.norm.bias.double() - self.norm.running_mean.double() * k).detach()


class CopperNet(nn.Module):
    """Fold, three halvings with dilated middle, and back up with joins. In: red, green, blue, and how the board's own colours
    speak for copper at this pixel (colour_prior); out: copper, pad, hole, unseen."""

    def __init__(self, a=24, b=40, c=72, d=96):
        super().__init__()
        self.steps = nn.ModuleList()
        self.plan = []  # ('conv', index) | ('fold',) | ('keep', n) | ('grow',) | ('join', n) | ('unfold',)
        self.word('take', 4); self.word('fold')
        self.conv(16, a); self.conv(a, a); self.word('keep', 0)
        self.conv(a, b, 2); self.conv(b, b); self.word('keep', 1)
        self.conv(b, c, 2); self.conv(c, c); self.conv(c, c); self.word('keep', 2)
        self.conv(c, d, 2); self.conv(d, d, 1, 2); self.conv(d, d, 1, 4); self.conv(d, d, 1, 6); self.conv(d, d, 1, 2); self.conv(d, d)
        self.word('grow'); self.word('join', 2); self.conv(d + c, c); self.conv(c, c)
        self.word('grow'); self.word('join', 1); self.conv(c + b, b)
        self.word('grow'); self.word('join', 0); self.conv(b + a, a); self.conv(a, a)
        self.conv(a, 16, relu=False)
        self.word('unfold')

    def word(self, *w):
        self.plan.append(w)

    def conv(self, *args, **kw):
        self.steps.append(Conv(*args, **kw))
        self.plan.append(('conv', len(self.steps) - 1))

    def word_on(self, w, x, kept):
        if w[0] == 'fold': x = F.pixel_unshuffle(x, 2)
        elif w[0] == 'unfold': x = F.pixel_shuffle(x, 2)
        elif w[0] == 'grow': x = F.interpolate(x, scale_factor=2, mode='nearest')
        elif w[0] == 'keep': kept[w[1]] = x
        elif w[0] == 'join': x = torch.cat([x, kept[w[1]]], 1)
        return x, kept

    def forward(self, x):
        kept = {}
        for w in self.plan:
            if w[0] == 'conv': x = self.steps[w[1]](x)
            else: x, kept = self.word_on(w, x, kept)
        return x

    @torch.no_grad()
    def write(self, path):
        lines, blobs = ['unpick-net 1'], []
        for w in self.plan:
            lines.append(self.steps[w[1]].line if w[0] == 'conv' else ' '.join(map(str, w)))
            if w[0] == 'conv':
                weight, bias = self.steps[w[1]].folded()
                blobs += [weight.cpu().numpy().astype('<f2').ravel(), bias.cpu().numpy().astype('<f2').ravel()]
        data = np.concatenate(blobs)
        lines.append(f'weights {data.size}')
        with open(path, 'wb') as out:
            out.write(('\n'.join(lines) + '\n').encode())
            out.write(data.tobytes())


@torch.no_grad()
def read_net(net, path, x):
    """Takes the weights of a written net of the same shape. What was folded away in writing, each channel's mean and spread, is
    measured on x [n, 4, s, s] again, so that the net gives what the file gave and learns on."""
    raw = open(path, 'rb').read()
    at = raw.index(b'\n', raw.index(b'\nweights ') + 1) + 1
    values, taken, kept = torch.from_numpy(np.frombuffer(raw[at:], dtype='<f2').astype(np.float32)).to(x.device), 0, {}

    def take(like):
        nonlocal taken
        taken += like.numel()
        return values[taken - like.numel():taken].view_as(like)
    for w in net.plan:
        if w[0] != 'conv':
            x, kept = net.word_on(w, x, kept)
            continue
        step = net.steps[w[1]]
        step.conv.weight.copy_(take(step.conv.weight))
        if step.norm is None:
            step.conv.bias.copy_(take(step.conv.bias))
        else:
            bias, sums = take(step.norm.bias), step.conv(x)
            mean, spread = sums.mean((0, 2, 3)), sums.var((0, 2, 3))
            step.norm.running_mean.copy_(mean); step.norm.running_var.copy_(spread)
            step.norm.weight.copy_(torch.sqrt(spread + step.norm.eps)); step.norm.bias.copy_(bias + mean)
        step.eval(); x = step(x); step.train()
    assert taken == values.numel(), 'the file is a net of another shape'


def colour_prior(x, copper, weight):
    """How each pixel's colour speaks for copper: the logarithm of how often that colour is copper against not, over the picture,
    in 4ths of -1..1. x: [n, 3, s, s] in -1..1; copper: what is known of it, 0..1; weight: how well. As src/copper/layers_prior.c."""
    n, _, s, _ = x.shape
    bins = ((x + 1) * (BINS / 2)).long().clamp(0, BINS - 1)
    index = ((bins[:, 0] * BINS + bins[:, 1]) * BINS + bins[:, 2]).reshape(n, -1)
    total = weight.sum((1, 2)).clamp(min=1).view(n, 1)
    tables = []
    for share in (weight * copper, weight * (1 - copper)):
        table = torch.zeros(n, BINS ** 3, device=x.device).scatter_add_(1, index, share.reshape(n, -1))
        table = (table * (PRIOR_PIXELS / total)).view(n, 1, BINS, BINS, BINS)
        for _ in range(2): table = F.avg_pool3d(table, 3, 1, 1)
        tables.append(table.view(n, -1))
    prior = (torch.log((tables[0] + PRIOR_LEAST) / (tables[1] + PRIOR_LEAST)) / 4).clamp(-1, 1)
    prior = prior.gather(1, index).view(n, 1, s, s)
    return torch.round(prior * 127.5 + 127.5) / 127.5 - 1


def rough_prior(x, y):
    """The prior that a first look, or a person's hints, would give: from labels made wrong in places, over a part of the picture."""
    n, _, s, _ = x.shape
    dev = x.device
    field = F.interpolate(torch.randn(n, 2, 5, 5, device=dev), size=(s, s), mode='bilinear', align_corners=True)
    pick = lambda p: (torch.rand(n, 1, 1, device=dev) < p).float()
    wrong = 0.25 * torch.rand(n, 1, 1, device=dev)
    copper = y[:, 0] * (1 - wrong) + (1 - y[:, 0]) * wrong
    blob = pick(0.35) * (field[:, 0] > 0.9).float()
    copper = copper * (1 - blob) + (1 - copper) * blob
    weight = (y[:, 1] < 0.5).float() * (y[:, 2] < 0.5).float() * (y[:, 3] < 0.5).float()
    weight = weight * torch.maximum(1 - pick(0.5), (field[:, 1] > -0.3).float())
    spots = F.max_pool2d((torch.rand(n, s, s, device=dev) < 6 / (s * s)).float(), 5, 1, 2)
    hints = pick(0.1)
    prior = colour_prior(x, torch.where(hints > 0, y[:, 0], copper), torch.where(hints > 0, weight * spots, weight) + 1e-6)
    return torch.where(pick(0.3)[:, None] > 0, torch.full_like(prior, 128 / 127.5 - 1), prior)


def augment(batch):
    """Turns, mirrors, exposure, colour cast, contrast curve and noise on the GPU; batch: uint8 [n, 8, s, s]."""
    n = batch.shape[0]
    k = int(torch.randint(4, ()))
    batch = torch.rot90(batch, k, (2, 3))
    if torch.rand(()) < 0.5: batch = batch.flip(3)
    x = batch[:, :3].float() / 255
    y = batch[:, 3:].float() / 255
    dev = x.device
    gain = torch.exp(0.15 * torch.randn(n, 1, 1, 1, device=dev) + 0.06 * torch.randn(n, 3, 1, 1, device=dev))
    gamma = torch.exp(0.12 * torch.randn(n, 1, 1, 1, device=dev))
    x = (x.clamp(1e-3).pow(gamma) * gain)
    grey = x.mean(1, keepdim=True)
    saturation = 1 + 0.25 * torch.randn(n, 1, 1, 1, device=dev)
    x = grey + (x - grey) * saturation
    x = x + torch.randn_like(x) * (0.02 * torch.rand(n, 1, 1, 1, device=dev))
    x = x.clamp(0, 1) * 2 - 1
    return torch.cat([x, rough_prior(x, y)], 1), y


def loss_of(logits, y):
    target, weight = y[:, :4], y[:, 4:5] + 0.05
    unseen = target[:, 3:4]
    each = F.binary_cross_entropy_with_logits(logits, target, reduction='none')
    weight = weight + THIN_WEIGHT * (y[:, 4:5] > (THIN - 1) / 255).float() + COVERED_WEIGHT * (y[:, 4:5] > (COVERED - 1) / 255).float()
    copper = (each[:, :1] * weight * (1 - 0.95 * unseen)).mean()
    return copper + 0.25 * each[:, 1:].mean()


@torch.no_grad()
def check(net, records):
    net.eval()
    inter = union = wrong = thin = 0
    for i in range(0, len(records), 64):
        b = records[i:i + 64]
        x = b[:, :3].float() / 127.5 - 1
        with torch.autocast('cuda', dtype=torch.bfloat16):  # looks twice, as the product does
            first = torch.sigmoid(net(torch.cat([x, torch.full_like(x[:, :1], 128 / 127.5 - 1)], 1)).float())
            prior = colour_prior(x, first[:, 0], (first[:, 1:].amax(1) < 0.5).float())
            p = net(torch.cat([x, prior], 1)).float()[:, 0] > 0
        t, seen, w = b[:, 3] > 127, b[:, 6] < 128, b[:, 7] >= THIN
        inter += (p & t & seen).sum().item(); union += ((p | t) & seen).sum().item()
        wrong += ((p != t) & seen & w).sum().item(); thin += (seen & w).sum().item()
    net.train()
    return inter / max(union, 1), wrong / max(thin, 1)


class Crops:
    """The newest files of records, on the GPU, read by a thread of its own; a batch comes from one of them."""

    def __init__(self, folder, most=80):
        self.folder, self.most, self.parts, self.seen = folder, most, [], set()
        threading.Thread(target=self.read, daemon=True).start()
        while not self.parts: time.sleep(0.5)

    def read(self):
        while True:
            for path in sorted(glob.glob(self.folder + '/*.rec')):
                if path in self.seen: continue
                self.seen.add(path)
                try:
                    part = read_records(path)
                except FileNotFoundError:  # run.sh keeps the newest only
                    continue
                self.parts = self.parts[-(self.most - 1):] + [part]
            time.sleep(1)

    def batch(self, size):
        parts = self.parts
        part = parts[int(torch.randint(len(parts), ()))]
        return part[torch.randint(len(part), (size,), device='cuda')]


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('folder'); ap.add_argument('--minutes', type=float, default=5)
    ap.add_argument('--check', nargs='*', default=[], help='files of records never trained on'); ap.add_argument('--out', default='copper.net')
    ap.add_argument('--batch', type=int, default=128); ap.add_argument('--rate', type=float, default=2e-3)
    ap.add_argument('--seed', type=int, default=1)
    ap.add_argument('--from', dest='start', help='a written net of the same shape to go on from: data/copper.net')
    ap.add_argument('--span', type=float, nargs=2, default=(0, 1), help='which part of the schedule, when several runs share one')
    ap.add_argument('--wide', action='store_true', help='more channels where pixels are many')
    args = ap.parse_args()
    torch.manual_seed(args.seed)
    torch.backends.cudnn.benchmark = True
    start, step = time.time(), 0
    end = start + args.minutes * 60
    crops = Crops(args.folder)
    net = (CopperNet(32, 48, 72, 88) if args.wide else CopperNet()).cuda().to(memory_format=torch.channels_last)
    if args.start: read_net(net, args.start, augment(crops.batch(64))[0])
    mean = copy.deepcopy(net).eval()  # of the weights, over the last thousand steps or so
    state = os.path.join(args.folder, os.path.basename(args.out) + '.pt')  # of the run before, in the same folder
    if os.path.exists(state):
        before = torch.load(state)
        net.load_state_dict(before['net']); mean.load_state_dict(before['mean'])
        print('goes on from', state, flush=True)
    print(f'{time.time() - start:.0f} s: first crops, {sum(p.numel() for p in net.parameters())} parameters', flush=True)
    opt = torch.optim.AdamW(net.parameters(), lr=args.rate, weight_decay=1e-4)
    while time.time() < end:
        part = args.span[0] + (args.span[1] - args.span[0]) * (time.time() - start) / (end - start)
        for g in opt.param_groups: g['lr'] = args.rate * min(1, step / 200 + 0.02) * (0.5 + 0.5 * np.cos(np.pi * part)) + 1e-6
        x, y = augment(crops.batch(args.batch))
        with torch.autocast('cuda', dtype=torch.bfloat16):
            logits = net(x.contiguous(memory_format=torch.channels_last))
        loss = loss_of(logits.float(), y)
        opt.zero_grad(set_to_none=True); loss.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        opt.step()
        with torch.no_grad():
            keep = min(0.999, step / (step + 10))
            for m, n in zip(mean.state_dict().values(), net.state_dict().values()):
                if m.dtype.is_floating_point: m.mul_(keep).add_(n, alpha=1 - keep)
        step += 1
        if step % 1000 == 0:
            print(f'{time.time() - start:6.0f} s step {step} loss {loss.item():.4f} parts seen {len(crops.seen)}', flush=True)
        if step % 4000 == 0: leave(net, mean, args)
    leave(net, mean, args)
    print(f'{step} steps', flush=True)


def leave(net, mean, args):
    mean.write(args.out)
    for folder in (args.folder, os.path.dirname(args.out) or '.'):
        torch.save({'net': net.state_dict(), 'mean': mean.state_dict()}, os.path.join(folder, os.path.basename(args.out) + '.pt'))
    for path in args.check:
        if not os.path.exists(path): continue
        iou, thin = check(mean, read_records(path))
        print(f'  {os.path.basename(path)}: IoU {iou:.4f}, wrong in thin places {thin:.4f}', flush=True)
    mean.eval()


if __name__ == '__main__':
    main()
