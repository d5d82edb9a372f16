"""Trains ToothNet on strips of rendered photographs. One command, fixed seeds; see models/README.md.

    python3 models/training/train_teeth.py --out OUT --seconds 480 [--resume OUT]
"""

import argparse
import csv
import math
import multiprocessing as mp
import os
import time

import numpy as np
import torch
from torch.nn import functional as F

from camera import Camera
from renderer import Renderer
from scenes import SIZE
from strips import N, Strips, normalised, pack_strips
from tooth_network import ToothNet

TRAIN_SEEDS = 40_000_000  # training takes seeds from here up
CHECK_SEEDS = 2_000_000  # held back: never trained on
CHUNK, COLUMNS, PHOTOS, STRIPS = 16, 512, 24, 192
BINS = (2.6, 4, 6, 8, 12, 20, 45)
NONE = (-2, 0)


def packed(job):
    rows = [pack_strips(seed, *job[2:]) for seed in range(job[0], job[0] + job[1])]
    return tuple(np.stack([r[i] for r in rows]) for i in range(5))


class Scenes:
    """Rendered scenes on the GPU, in linear light, with their classes and their wheels; old ones make room."""

    def __init__(self, renderer, size):
        d = renderer.device
        self.renderer, self.size, self.filled, self.at = renderer, size, 0, 0
        self.rgb = torch.empty(size, 3, SIZE, SIZE, dtype=torch.float16, device=d)
        self.mask = torch.empty(size, SIZE, SIZE, dtype=torch.uint8, device=d)
        self.scene, self.wheels, self.teeth = None, None, None

    def add(self, s, parts, tables, wheels, teeth):
        rgb, mask = self.renderer.render(s, parts, tables)
        put = lambda a: torch.from_numpy(a).to(rgb.device)
        rows = (put(s), put(wheels), put(teeth))
        if self.scene is None:
            self.scene, self.wheels, self.teeth = (torch.zeros(self.size, *r.shape[1:], device=rgb.device) for r in rows)
        slots = (self.at + torch.arange(len(s), device=rgb.device)) % self.size
        self.rgb[slots], self.mask[slots] = rgb.clamp(max=60000).half(), mask
        self.scene[slots], self.wheels[slots], self.teeth[slots] = rows
        self.at = (self.at + len(s)) % self.size
        self.filled = min(self.size, self.filled + len(s))

    def strips(self, camera, strips, which, count, generator):
        """`count` strips of the scenes `which`, each photographed once: strips, truth, weights, pitches, teeth gone by."""
        photo = camera.take(self.rgb[which] if self.rgb.is_cuda else self.rgb[which].float()).half()
        pick = torch.multinomial((self.wheels[which][:, :, N] != 0).float().flatten() + 1e-9, count, True, generator=generator)
        i, k = pick // self.wheels.shape[1], pick % self.wheels.shape[1]
        j = which[i]
        if not photo.is_cuda:
            photo = photo.float()
        return strips.cut(photo[i], self.mask[j], self.scene[j], self.wheels[j, k], self.teeth[j, k])


def loss_of(out, truth, weight, toothed):
    """Squared error of the place, and, of wheels, cross-entropy of tooth or space; mean over all columns that count."""
    place = ((out[:, :2] - truth[:, :2]) ** 2).sum(1)
    tooth = F.binary_cross_entropy_with_logits(out[:, 2], truth[:, 2], reduction="none") * toothed[:, None]
    return ((place + tooth) * weight).sum() / weight.sum().clamp(min=1)


@torch.no_grad()
def scores(net, sets):
    """Of strips in full view, by pitch: how many there are, in how many the places run off by half a tooth or more, and
    their mean squared error; the last of them of things without teeth, whose places should be naught."""
    out, bins = {}, [*zip(BINS, BINS[1:]), NONE]
    for name, batches in sets.items():
        tally = torch.zeros(len(bins), 3)
        for strip, truth, weight, pitch, turns in batches:
            with torch.autocast(strip.device.type, torch.bfloat16, enabled=strip.is_cuda):
                place = net(normalised(strip.float())).float()
            angle = torch.atan2(place[:, 1], place[:, 0])
            step = torch.remainder(angle.diff(dim=1) + math.pi, 2 * math.pi) - math.pi
            slip = (step.sum(1) / (2 * math.pi) - (turns[:, -1] - turns[:, 0])).abs() > 0.5
            loss = ((place[:, :2] - truth[:, :2]) ** 2).sum(1).mean(1)
            for b, (low, high) in enumerate(bins):
                here = (weight.mean(1) > 0.99) & (pitch >= low) & (pitch < high)
                tally[b] += torch.tensor([here.sum(), (slip & here).sum(), (loss * here).sum()]).cpu()
        for b, (low, _) in enumerate(bins):
            n = max(1, int(tally[b, 0]))
            out[f"{name} {low}"] = (int(tally[b, 0]), float(tally[b, 1]) / n, float(tally[b, 2]) / n)
    return out


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("--out", required=True)
    ask.add_argument("--seconds", type=float, default=480, help="training time")
    ask.add_argument("--pool", type=int, default=8000)
    ask.add_argument("--fill", type=int, default=1500, help="scenes rendered before training starts")
    ask.add_argument("--rate", type=float, default=2e-3)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--start", help="weights to go on from")
    ask.add_argument("--checks", type=int, default=800, help="held-back scenes of each kind to watch")
    a = ask.parse_args()
    on_gpu = torch.cuda.is_available()
    device = torch.device("cuda" if on_gpu else "cpu")
    torch.manual_seed(a.seed)
    torch.backends.cudnn.benchmark = True
    g = torch.Generator(device).manual_seed(a.seed)
    renderer, camera, strips = Renderer(device), Camera(device, g), Strips(device, g, COLUMNS)
    pool = Scenes(renderer, a.pool)
    workers = mp.get_context("spawn").Pool(max(1, (os.cpu_count() or 2) - 2))
    first = TRAIN_SEEDS + 1_000_000 * a.seed
    jobs = ((first + i * CHUNK, CHUNK, False, True) for i in range(10**9))
    waiting = []

    def feed(wait):
        while len(waiting) < 48:
            waiting.append(workers.apply_async(packed, (next(jobs),)))
        if wait or waiting[0].ready():
            pool.add(*waiting.pop(0).get())
            return True
        return False

    started, checks = time.time(), {}
    for name in ("seen", "held"):
        held, gc = Scenes(renderer, a.checks), torch.Generator(device).manual_seed(7)
        for rows in workers.map(packed, [(CHECK_SEEDS + 500_000 * (name == "held") + i, CHUNK, name == "held") for i in range(0, a.checks, CHUNK)], 1):
            held.add(*rows)
        look, cut = Camera(device, gc), Strips(device, gc, COLUMNS)
        part = min(PHOTOS, a.checks)
        checks[name] = [held.strips(look, cut, torch.arange(i, i + part, device=device), STRIPS // 2, gc) for i in range(0, a.checks - part + 1, part)]
    del held
    while pool.filled < min(a.fill, a.pool):
        feed(True)
    print(f"{pool.filled} scenes after {time.time() - started:.0f} s", flush=True)
    net = ToothNet().to(device)
    if a.start:
        net.load_state_dict(torch.load(a.start, map_location=device))
    best = torch.optim.AdamW(net.parameters(), lr=a.rate, weight_decay=0.02)
    kept = ToothNet().to(device).eval()
    kept.load_state_dict(net.state_dict())
    os.makedirs(a.out, exist_ok=True)
    curve = csv.writer(open(os.path.join(a.out, "curve.csv"), "w", newline=""))
    curve.writerow(["seconds", "step", "scenes", "loss", "of", "pitch px", "strips", "run off", "squared error"])
    begun, step, last, sums, scenes = time.time(), 0, 0.0, [], pool.filled
    while (spent := time.time() - begun) < a.seconds:
        if step % 3 == 0 and feed(False):
            scenes += CHUNK
        for group in best.param_groups:
            group["lr"] = a.rate * min(1, (step + 1) / 300) * (0.5 + 0.5 * math.cos(math.pi * spent / a.seconds)) + 1e-6
        with torch.no_grad():
            which = torch.randint(0, pool.filled, (PHOTOS,), device=device, generator=g)
            strip, truth, weight, pitch, _ = pool.strips(camera, strips, which, STRIPS, g)
        with torch.autocast(device.type, torch.bfloat16, enabled=on_gpu):
            out = net(normalised(strip))
        loss = loss_of(out.float(), truth, weight, (pitch > 0).float())
        best.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        best.step()
        with torch.no_grad():
            share = 1 - min(0.998, (1 + step) / (10 + step))
            for x, y in zip(kept.state_dict().values(), net.state_dict().values()):
                x.lerp_(y, share) if x.dtype.is_floating_point else x.copy_(y)
        sums.append(loss.detach())
        step += 1
        if spent - last > a.seconds / 8:
            last = spent
            report(curve, kept, checks, spent, step, scenes, sums)
            sums = []
    report(curve, kept, checks, spent, step, scenes, sums)
    torch.save({k: v.cpu() for k, v in kept.state_dict().items()}, os.path.join(a.out, "teeth.pt"))
    workers.terminate()


def report(curve, net, checks, spent, step, scenes, sums):
    mean = float(torch.stack(sums).mean()) if sums else float("nan")
    print(f"{spent:.0f} s, step {step}, {scenes} scenes, loss {mean:.4f}", flush=True)
    for name, row in scores(net, checks).items():
        curve.writerow([f"{spent:.0f}", step, scenes, f"{mean:.4f}", *name.split(), *(f"{v:.4f}" for v in row)])
        print(f"   {name}: {row[0]} strips, run off {row[1]:.3f}, squared error {row[2]:.3f}", flush=True)


if __name__ == "__main__":
    main()
