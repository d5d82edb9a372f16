"""Trains MetalNet on pictures rendered on the fly. One command, fixed seeds, resumable; see models/README.md.

    torchrun --standalone --nproc-per-node GPUS models/training/train.py --out OUT --seconds 960 --leave 560
    torchrun --standalone --nproc-per-node GPUS models/training/train.py --out OUT --seconds 960 --leave 560 --resume OUT

Every process renders scenes of its own and holds the same weights: gradients are averaged over all of them.
"""

import argparse
import csv
import math
import multiprocessing as mp
import os
import time

import numpy as np
import torch
import torch.distributed as dist
from torch.nn import functional as F

from camera import Camera
from network import CLASSES, MetalNet
from renderer import Renderer, pack_many
from scenes import SIZE

TRAIN_SEEDS = 10_000_000  # training takes seeds from here up
CHECK_SEEDS = 1_000_000  # held back: never trained on
CHUNK = 16
FILES = ("net", "average", "exp_avg", "exp_avg_sq")
SCORES = [f"{k}_{n}" for k in ("seen", "held") for n in ("metal_mat", "hole_mat", "metal_off", "hole_off")]


def packed(job):
    return pack_many(range(job[0], job[0] + job[1]), *job[2:])


class Pool:
    """Rendered scenes on the GPU (linear light, half precision), replaced by new ones while training goes on."""

    def __init__(self, renderer, size, workers, first_seed, apart):
        self.renderer, self.size = renderer, size
        self.rgb = torch.empty(size, 3, SIZE, SIZE, dtype=torch.float16, device=renderer.device)
        self.mask = torch.empty(size, SIZE, SIZE, dtype=torch.uint8, device=renderer.device)
        self.loss = torch.zeros(size, device=renderer.device)
        self.filled = self.at = self.rendered = 0
        self.jobs = ((first_seed + i * apart, CHUNK, False, True) for i in range(10**9))
        self.processes = mp.get_context("spawn").Pool(workers)
        self.waiting = []

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
        self.loss[slots] = self.loss[: max(1, self.filled)].mean()
        self.at = (self.at + CHUNK) % self.size
        self.filled = min(self.size, self.filled + CHUNK)
        self.rendered += CHUNK
        return True

    def draw(self, count, generator):
        """Which scenes come next: those that went badly up to three times as often as the usual one."""
        loss = self.loss[: self.filled]
        weight = (loss / loss.mean().clamp(min=1e-6)).clamp(0.5, 3) if self.rendered > 0 else torch.ones_like(loss)
        return torch.multinomial(weight, count, generator=generator)


def turned(rgb, mask, g):
    """The whole batch mirrored and turned by quarters, at random."""
    k = int(torch.randint(0, 4, (1,), generator=g))
    rgb, mask = torch.rot90(rgb, k, (2, 3)), torch.rot90(mask, k, (1, 2))
    if torch.rand(1, generator=g) < 0.5:
        rgb, mask = rgb.flip(3), mask.flip(2)
    return rgb.contiguous(), mask.contiguous()


def overlap_missing(p, truth):
    """How far from full overlap: a soft intersection over union."""
    both = torch.where(truth, p, 0.0).sum()
    return 1 - (both + 1) / (p.sum() + truth.sum() - both + 1)


def loss_of(logits, mask, border):
    """Cross-entropy and missing overlap of each class and of metal as a whole; and the cross-entropy of each pixel.

    Pixels within 2 px of another class count `border` times in the cross-entropy: most of what was wrong on the
    mat lay there.
    """
    log_p = F.log_softmax(logits, 1)
    k = mask[:, None].half()
    near = F.max_pool2d(k, 5, 1, 2) != -F.max_pool2d(-k, 5, 1, 2)
    weight = 1 + (border - 1) * near[:, 0].float()
    ce = F.nll_loss(log_p, mask, reduction="none")
    p = log_p.exp()
    miss = sum(overlap_missing(p[:, k], mask == k) for k in range(CLASSES)) / CLASSES
    miss = miss + overlap_missing(p[:, 1] + p[:, 2], (mask == 1) | (mask == 2))
    return (ce * weight).sum() / weight.sum() + 0.5 * miss, ce.detach()


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


def over_all(tensors, world):
    """The mean over all processes, in place."""
    if world > 1:
        flat = torch.cat([t.reshape(-1) for t in tensors])
        dist.all_reduce(flat)
        for t, mean in zip(tensors, (flat / world).split([t.numel() for t in tensors])):
            t.copy_(mean.view(t.shape))


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
def tally_of(net, data):
    """Pixels in both and in either of truth and answer, of metal (classes 1 and 2) and of class 3: off the mat, on it."""
    images, masks, on_mat = data
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
    return tally


def scores_of(net, checks, world):
    out = {}
    for name, data in checks.items():
        tally = tally_of(net, data)
        over_all([tally], world)
        for where, row in ((("mat", tally[1])), ("off", tally[0])):
            out[f"{name}_metal_{where}"] = float(row[0] / row[1].clamp(min=1))
            out[f"{name}_hole_{where}"] = float(row[2] / row[3].clamp(min=1))
    return out


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("--out", required=True)
    ask.add_argument("--seconds", type=float, default=960, help="training time in all, of all parts of the run together")
    ask.add_argument("--leave", type=float, default=1e9, help="seconds after which this process stops, to be resumed")
    ask.add_argument("--batch", type=int, default=32, help="pictures a process and step")
    ask.add_argument("--pool", type=int, default=6400)
    ask.add_argument("--fill", type=int, default=2048, help="scenes rendered before training starts")
    ask.add_argument("--rate", type=float, default=4e-3)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--resume", help="folder of an unfinished run: goes on where it stopped")
    ask.add_argument("--start", help="weights.pt of a finished run: a new run from there")
    ask.add_argument("--border", type=float, default=4.0, help="weight of pixels beside another class, see loss_of")
    ask.add_argument("--checks", type=int, default=384, help="held-back scenes of each kind to watch")
    a = ask.parse_args()
    started = time.time()
    world, rank = int(os.environ.get("WORLD_SIZE", 1)), int(os.environ.get("RANK", 0))
    on_gpu = torch.cuda.is_available()
    device = f"cuda:{rank}" if on_gpu else "cpu"
    if on_gpu:
        torch.cuda.set_device(rank)
    if world > 1:
        dist.init_process_group("nccl" if on_gpu else "gloo")
    torch.manual_seed(a.seed)
    torch.backends.cudnn.benchmark = True
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    if rank > 0 and world > 1:
        dist.barrier()  # the first builds the renderer
    renderer = Renderer(device)
    if rank == 0 and world > 1:
        dist.barrier()
    net = MetalNet().to(device).to(memory_format=torch.channels_last)
    best = torch.optim.AdamW(net.parameters(), lr=a.rate, weight_decay=0.02, fused=True)
    average = Average(net)
    step, spent, rendered = 0, 0.0, 0
    if a.resume:
        net_state, average_state, first, second = (torch.load(os.path.join(a.resume, f"{n}.pt"), map_location=device) for n in FILES)
        step, spent, rendered = torch.load(os.path.join(a.resume, "at.pt"))
        net.load_state_dict(net_state)
        average.load(average_state)
        kept = best.state_dict()
        kept["state"] = {i: dict(step=torch.tensor(float(step)), exp_avg=m, exp_avg_sq=v) for i, (m, v) in enumerate(zip(first, second))}
        best.load_state_dict(kept)
    elif a.start:
        net.load_state_dict(torch.load(a.start, map_location=device))
        average.load(net.state_dict())
    gpu = torch.Generator(device).manual_seed(1000 * a.seed + step + rank)
    cpu = torch.Generator().manual_seed(1000 * a.seed + step + rank)
    camera = Camera(device, gpu)
    first_seed = TRAIN_SEEDS + 1_000_000 * a.seed + rendered * world + rank * CHUNK
    pool = Pool(renderer, a.pool, max(1, min(6, (os.cpu_count() or 4) // world - 1)), first_seed, CHUNK * world)
    while pool.filled < min(a.fill, a.pool):
        pool.add(wait=True)
    share = a.checks // world // CHUNK * CHUNK
    checks = {k: held_back_set(renderer, share, k == "held", CHECK_SEEDS + rank * share + 500_000 * (k == "held")) for k in ("seen", "held")}
    watch = MetalNet().to(device).to(memory_format=torch.channels_last).eval()
    ask_net, ask_loss = (torch.compile(net), torch.compile(loss_of)) if on_gpu else (net, loss_of)
    os.makedirs(a.out, exist_ok=True)
    if rank == 0:
        print(f"pool of {pool.filled} scenes after {time.time() - started:.0f} s", flush=True)
        curve = open(os.path.join(a.out, "curve.csv"), "a", newline="")
        writer = csv.writer(curve)
        if step == 0:
            writer.writerow(["seconds", "step", "scenes", "rate", "loss"] + SCORES)

    @torch.no_grad()
    def score():
        over_all(average.kept, world)
        watch.load_state_dict(average.state(), strict=False)
        return scores_of(watch, checks, world)

    begun, last, sums, done, leave = time.time() - spent, spent, [], spent / a.seconds, False
    begun_step = step
    while True:
        if (step - begun_step) % 10 == 0:
            # One clock for all: the first process's.
            clock = torch.tensor([time.time() - begun, time.time() - started], device=device)
            if world > 1:
                dist.broadcast(clock, 0)
            spent, lived = clock.tolist()
            done, leave = spent / a.seconds, lived > a.leave
            if done >= 1 or leave:
                break
        for _ in range(2 if pool.filled < pool.size else 1):
            if step % 8 == 0 or pool.filled < pool.size:
                pool.add(wait=False)
        rate = a.rate * min(1, (step + 1) / 400) * (0.5 + 0.5 * math.cos(math.pi * min(1, done))) + 1e-6
        for group in best.param_groups:
            group["lr"] = rate
        which = pool.draw(a.batch, gpu)
        with torch.no_grad():
            rgb, mask = turned(pool.rgb[which], pool.mask[which], cpu)
            photo = camera.take(rgb if on_gpu else rgb.float()).float().contiguous(memory_format=torch.channels_last)
        with torch.autocast(renderer.device.type, torch.bfloat16):
            logits = ask_net(photo)
        loss, each = ask_loss(logits.float(), mask.long(), a.border)
        pool.loss[which] = each.mean((1, 2))
        best.zero_grad(set_to_none=True)
        loss.backward()
        over_all([p.grad for p in net.parameters()], world)
        torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        best.step()
        average.update(step)
        sums.append(loss.detach())
        step += 1
        # Only where the clock was just read do all processes agree on it.
        if spent - last > max(20, a.seconds / 24) and (step - begun_step) % 10 == 1:
            last = spent
            scores, mean = score(), float(torch.stack(sums).mean())
            sums = []
            if rank == 0:
                writer.writerow([f"{spent:.1f}", step, (rendered + pool.rendered) * world, f"{rate:.6f}", f"{mean:.5f}"] + [f"{scores[n]:.5f}" for n in SCORES])
                curve.flush()
                print(f"{spent:.0f} s step {step} scenes {pool.rendered} loss {mean:.4f} " + " ".join(f"{n} {scores[n]:.4f}" for n in SCORES), flush=True)
    scores = score()
    if rank == 0:
        moments = [best.state[p] for p in net.parameters()]
        states = (net.state_dict(), average.state(), [m["exp_avg"] for m in moments], [m["exp_avg_sq"] for m in moments])
        for name, state in zip(FILES, states):
            torch.save(state, os.path.join(a.out, f"{name}.pt"))
        torch.save((step, spent, rendered + pool.rendered), os.path.join(a.out, "at.pt"))
        torch.save({k: v.cpu() for k, v in watch.state_dict().items()}, os.path.join(a.out, "weights.pt"))
        print("left, to be resumed" if leave else "final", step, pool.rendered, scores, flush=True)
    pool.processes.terminate()
    if world > 1:
        dist.destroy_process_group()


if __name__ == "__main__":
    main()
