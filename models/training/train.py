"""Trains MetalNet on pictures rendered on the fly. One command, fixed seeds, resumable; see models/README.md.

    python3 models/training/train.py --out OUT --seconds 480 [--resume OUT/checkpoint.pt]
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
from network import CLASSES, MetalNet
from renderer import Renderer, pack_many
from scenes import SIZE

TRAIN_SEEDS = 10_000_000  # training takes seeds from here up
CHECK_SEEDS = 1_000_000  # held back: never trained on
CHUNK = 16


def packed(job):
    first, count, held = job
    return pack_many(range(first, first + count), held)


class Pool:
    """Rendered scenes on the GPU (linear light, half precision), replaced by new ones while training goes on."""

    def __init__(self, renderer, size, workers, first_seed):
        self.renderer, self.size = renderer, size
        self.rgb = torch.empty(size, 3, SIZE, SIZE, dtype=torch.float16, device=renderer.device)
        self.mask = torch.empty(size, SIZE, SIZE, dtype=torch.uint8, device=renderer.device)
        self.filled = self.at = self.rendered = 0
        jobs = ((first_seed + i * CHUNK, CHUNK, False) for i in range(10**9))
        self.processes = mp.get_context("spawn").Pool(workers)
        self.waiting = []
        self.jobs = jobs

    def feed(self, ahead=24):
        while len(self.waiting) < ahead:
            self.waiting.append(self.processes.apply_async(packed, (next(self.jobs),)))

    def add(self, wait):
        """Renders one more chunk of scenes if one is packed (or waits for it)."""
        self.feed()
        if not wait and not self.waiting[0].ready():
            return False
        scenes, parts, tables, _ = self.waiting.pop(0).get()
        rgb, mask = self.renderer.render(scenes, parts, tables)
        slots = (self.at + torch.arange(CHUNK, device=rgb.device)) % self.size
        self.rgb[slots], self.mask[slots] = rgb.clamp(max=60000).half(), mask
        self.at = (self.at + CHUNK) % self.size
        self.filled = min(self.size, self.filled + CHUNK)
        self.rendered += CHUNK
        return True


def turned(rgb, mask, g):
    """The whole batch mirrored and turned by quarters, at random."""
    k = int(torch.randint(0, 4, (1,), generator=g))
    rgb, mask = torch.rot90(rgb, k, (2, 3)), torch.rot90(mask, k, (1, 2))
    if torch.rand(1, generator=g) < 0.5:
        rgb, mask = rgb.flip(3), mask.flip(2)
    return rgb.contiguous(), mask.contiguous()


def loss_of(logits, mask, border=1.0):
    """Cross-entropy, and how far each class is from full overlap (a soft intersection over union).

    Pixels within 2 px of another class count `border` times in the cross-entropy: two thirds of what was
    wrong on the mat lay within 2 px of the edge of the metal.
    """
    log_p = F.log_softmax(logits, 1)
    if border == 1:
        ce = F.nll_loss(log_p, mask)
    else:
        k = mask[:, None].half()
        near = F.max_pool2d(k, 5, 1, 2) != -F.max_pool2d(-k, 5, 1, 2)
        weight = 1 + (border - 1) * near[:, 0].float()
        ce = (F.nll_loss(log_p, mask, reduction="none") * weight).sum() / weight.sum()
    p = log_p.exp()
    miss = 0.0
    for k in range(CLASSES):
        truth = mask == k
        both = torch.where(truth, p[:, k], 0.0).sum()
        miss = miss + 1 - (both + 1) / (p[:, k].sum() + truth.sum() - both + 1)
    return ce + 0.5 * miss / CLASSES


class Average:
    """Running average of the weights, which is what is kept."""

    def __init__(self, net):
        self.live = [v for v in net.state_dict().values() if v.dtype.is_floating_point]
        self.names = [k for k, v in net.state_dict().items() if v.dtype.is_floating_point]
        self.kept = [v.detach().clone() for v in self.live]

    @torch.no_grad()
    def update(self, step):
        torch._foreach_lerp_(self.kept, self.live, 1 - min(0.998, (1 + step) / (10 + step)))

    def state(self):
        return dict(zip(self.names, self.kept))

    def load(self, state):
        for name, value in zip(self.names, self.kept):
            value.copy_(state[name])


@torch.no_grad()
def held_back_set(renderer, count, held, first):
    """Photographs with fixed seeds: uint8 (n, 3, H, W), masks, and which lie on the mat."""
    camera = Camera(renderer.device, torch.Generator(renderer.device).manual_seed(first))
    rows = []
    for i in range(0, count, CHUNK):
        scenes, parts, tables, on_mat = packed((first + i, CHUNK, held))
        rgb, mask = renderer.render(scenes, parts, tables)
        rows.append((camera.take(rgb).byte(), mask, torch.from_numpy(on_mat).to(mask.device)))
    return tuple(torch.cat([r[i] for r in rows]) for i in range(3))


@torch.no_grad()
def intersection_over_union(net, data):
    """Metal (classes 1 and 2 together) and class 3, summed over all pixels: on the mat, off it."""
    images, masks, on_mat = data
    out = {}
    tally = torch.zeros(2, 4, device=images.device)
    for i in range(0, len(images), CHUNK):
        with torch.autocast(images.device.type, torch.bfloat16, enabled=images.is_cuda):
            found = net(images[i : i + CHUNK].float().contiguous(memory_format=torch.channels_last)).argmax(1)
        truth = masks[i : i + CHUNK].long()
        for where in (0, 1):
            pick = on_mat[i : i + CHUNK] == bool(where)
            f, t = found[pick], truth[pick]
            a, b = (f == 1) | (f == 2), (t == 1) | (t == 2)
            c, d = f == 3, t == 3
            tally[where] += torch.stack([(a & b).sum(), (a | b).sum(), (c & d).sum(), (c | d).sum()])
    for where, name in ((1, "mat"), (0, "off")):
        out[f"metal_{name}"] = float(tally[where, 0] / tally[where, 1])
        out[f"hole_{name}"] = float(tally[where, 2] / tally[where, 3])
    return out


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("--out", required=True)
    ask.add_argument("--seconds", type=float, default=480, help="training time, rendering of the first pool not counted in")
    ask.add_argument("--batch", type=int, default=32)
    ask.add_argument("--pool", type=int, default=6400)
    ask.add_argument("--rate", type=float, default=3e-3)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--resume", help="folder of an unfinished run: goes on where it stopped")
    ask.add_argument("--start", help="weights.pt of a finished run: a new run from there")
    ask.add_argument("--border", type=float, default=1.0, help="weight of pixels beside another class, see loss_of")
    a = ask.parse_args()
    started = time.time()
    torch.manual_seed(a.seed)
    torch.backends.cudnn.benchmark = True
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    device = "cuda"
    renderer = Renderer(device)
    gpu = torch.Generator(device).manual_seed(a.seed)
    cpu = torch.Generator().manual_seed(a.seed)
    camera = Camera(device, gpu)
    net = MetalNet().to(device).to(memory_format=torch.channels_last)
    best = torch.optim.AdamW(net.parameters(), lr=a.rate, weight_decay=0.02, fused=True)
    average = Average(net)
    step, spent = 0, 0.0
    first_seed = TRAIN_SEEDS
    if a.resume:
        saved = torch.load(os.path.join(a.resume, "checkpoint.pt"), map_location=device)
        net.load_state_dict(saved["net"])
        average.load(saved["average"])
        best.load_state_dict(torch.load(os.path.join(a.resume, "checkpoint-optimiser.pt"), map_location=device))
        step, spent, first_seed = saved["step"], saved["spent"], saved["next_seed"]
    elif a.start:
        missing = net.load_state_dict(torch.load(a.start, map_location=device), strict=False)
        print("started from", a.start, "new layers:", sorted({k.split(".")[0] for k in missing.missing_keys}))
        average.load(net.state_dict())
        first_seed += 1_000_000 * a.seed
    pool = Pool(renderer, a.pool, max(2, (os.cpu_count() or 4) - 2), first_seed)
    while pool.filled < a.pool:
        pool.add(wait=True)
    print(f"pool of {a.pool} scenes after {time.time() - started:.0f} s", flush=True)
    checks = {"seen": held_back_set(renderer, 192, False, CHECK_SEEDS), "held": held_back_set(renderer, 192, True, CHECK_SEEDS + 500_000)}
    watch = MetalNet().to(device).to(memory_format=torch.channels_last).eval()
    os.makedirs(a.out, exist_ok=True)
    curve = open(os.path.join(a.out, "curve.csv"), "a", newline="")
    writer = csv.writer(curve)
    if step == 0:
        writer.writerow(["seconds", "step", "scenes", "rate", "loss"] + [f"{k}_{n}" for k in checks for n in ("metal_mat", "hole_mat", "metal_off", "hole_off")])
    begun, last, sums = time.time() - spent, spent, []

    def save():
        state = dict(net=net.state_dict(), average=average.state(), step=step, spent=time.time() - begun, next_seed=first_seed + pool.rendered)
        torch.save(state, os.path.join(a.out, "checkpoint.pt"))
        torch.save(best.state_dict(), os.path.join(a.out, "checkpoint-optimiser.pt"))

    while True:
        spent = time.time() - begun
        done = spent / a.seconds
        if done >= 1:
            break
        rate = a.rate * min(1, (step + 1) / 200) * (0.5 + 0.5 * math.cos(math.pi * min(1, done))) + 1e-6
        for group in best.param_groups:
            group["lr"] = rate
        if step % 10 == 0:
            pool.add(wait=False)
        which = torch.randint(0, a.pool, (a.batch,), generator=cpu).to(device)
        rgb, mask = turned(pool.rgb[which], pool.mask[which], cpu)
        with torch.no_grad():
            photo = camera.take(rgb).float().contiguous(memory_format=torch.channels_last)
        with torch.autocast("cuda", torch.bfloat16):
            logits = net(photo)
        loss = loss_of(logits.float(), mask.long(), a.border)
        best.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        best.step()
        average.update(step)
        sums.append(loss.detach())
        step += 1
        if spent - last > max(20, a.seconds / 16):
            last = spent
            watch.load_state_dict(average.state(), strict=False)
            scores = {f"{k}_{n}": v for k, d in checks.items() for n, v in intersection_over_union(watch, d).items()}
            mean = float(torch.stack(sums).mean())
            sums = []
            names = [f"{k}_{n}" for k in checks for n in ("metal_mat", "hole_mat", "metal_off", "hole_off")]
            writer.writerow([f"{spent:.1f}", step, pool.rendered, f"{rate:.6f}", f"{mean:.5f}"] + [f"{scores[n]:.5f}" for n in names])
            curve.flush()
            print(f"{spent:.0f} s step {step} scenes {pool.rendered} loss {mean:.4f} " + " ".join(f"{n} {scores[n]:.4f}" for n in names), flush=True)
            save()
    save()
    watch.load_state_dict(average.state(), strict=False)
    torch.save({k: v.cpu() for k, v in watch.state_dict().items()}, os.path.join(a.out, "weights.pt"))
    scores = {k: intersection_over_union(watch, d) for k, d in checks.items()}
    print("final", step, pool.rendered, scores, flush=True)
    pool.processes.terminate()


if __name__ == "__main__":
    main()
