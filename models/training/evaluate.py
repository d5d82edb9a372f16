"""Scores networks on scenes that they have never seen, side by side, and beside a model that knows colours alone.

    python3 models/training/evaluate.py OUT.json NETWORK [OTHER ...]      # .onnx or .pt

All on the same scenes, whose seeds nothing else uses; 95 % intervals from whole scenes drawn again. A gain is the
first network's over another.
"""

import json
import sys

import numpy as np
import torch

from camera import Camera
from read_onnx import load_network
from renderer import Renderer, pack_many
from train import CHECK_SEEDS, CHUNK, TRAIN_SEEDS

FIRST, COUNTS = CHECK_SEEDS + 400_000, {False: 2880, True: 1920}
BINS = 32
WHAT = ("metal", "steel", "hole")


def batches(renderer, first, count, held):
    camera = Camera(renderer.device, torch.Generator(renderer.device).manual_seed(first))
    for i in range(0, count, CHUNK):
        scenes, parts, tables, on_mat = pack_many(range(first + i, first + i + CHUNK), held)
        rgb, mask = renderer.render(scenes, parts, tables)
        eye_z, right = scenes[:, 2], scenes[:, 3:6]
        px_per_mm = 1 / (np.linalg.norm(right, axis=1) * eye_z)
        yield camera.take(rgb), mask.long(), on_mat, px_per_mm


def cell(photo):
    q = (photo / 256 * BINS).long().clamp(0, BINS - 1)
    return (q[:, 0] * BINS + q[:, 1]) * BINS + q[:, 2]


def colour_alone(renderer):
    """How often each colour was metal in 1600 training photographs, and the share that serves best on 96 others."""
    metal, seen = (torch.zeros(BINS**3, device=renderer.device) for _ in range(2))
    for photo, mask, _, _ in batches(renderer, TRAIN_SEEDS, 1600, False):
        index, truth = cell(photo).reshape(-1), ((mask == 1) | (mask == 2)).reshape(-1).float()
        metal += torch.bincount(index, truth, BINS**3)
        seen += torch.bincount(index, minlength=BINS**3)
    share = metal / seen.clamp(min=1)
    cuts = np.arange(0.1, 0.7, 0.05)
    tally = np.zeros((len(cuts), 2))
    for photo, mask, _, _ in batches(renderer, TRAIN_SEEDS + 5000, 96, False):
        known, truth = share[cell(photo)], (mask == 1) | (mask == 2)
        tally += [[float(((known > c) & truth).sum()), float(((known > c) | truth).sum())] for c in cuts]
    return share > cuts[int((tally[:, 0] / tally[:, 1]).argmax())]


def pixels(found, mask):
    """Pixels in both and in either, (B, 3, 2): metal (classes 1 and 2), steel, holes."""
    pairs = (((found == 1) | (found == 2), (mask == 1) | (mask == 2)), (found == 2, mask == 2), (found == 3, mask == 3))
    return torch.stack([torch.stack([(a & b).sum((1, 2)), (a | b).sum((1, 2))], 1) for a, b in pairs], 1)


def over(t):
    return t[..., 0].sum(-1) / np.maximum(1, t[..., 1].sum(-1))


def interval(values):
    return [round(float(v), 4) for v in np.quantile(values, (0.025, 0.975))]


def group(table):
    """Of (networks, scenes, 3, 2): scores, the first's intervals, and its gain in metal over each other network."""
    again = np.random.default_rng(1).integers(0, table.shape[1], (1000, table.shape[1]))
    out = dict(scenes=int(table.shape[1]))
    for i, what in enumerate(WHAT):
        drawn = np.array([over(net[again][..., i, :]) for net in table[:, :, :]])
        out[what] = [round(float(over(net[:, i])), 4) for net in table]
        out[f"{what}, interval of the first"] = interval(drawn[0])
        if what == "metal":
            out["gain in metal over the others"] = [interval(drawn[0] - d) for d in drawn[1:]]
    return out


@torch.no_grad()
def main():
    out, paths = sys.argv[1], sys.argv[2:]
    device = "cuda" if torch.cuda.is_available() else "cpu"
    renderer = Renderer(device)
    nets = [load_network(p, device).to(memory_format=torch.channels_last) for p in paths]
    is_metal = colour_alone(renderer)
    result = {"networks": paths}
    for name, held in (("seen materials, new seeds", False), ("materials and surfaces never seen", True)):
        rows, mats, scales = [], [], []
        for photo, mask, on_mat, px_per_mm in batches(renderer, FIRST + 500_000 * held, COUNTS[held], held):
            x = photo.float().contiguous(memory_format=torch.channels_last)
            answers = [net(x).argmax(1) for net in nets] + [is_metal[cell(photo)].long()]
            rows.append(torch.stack([pixels(a, mask) for a in answers]).cpu().numpy())
            mats.append(on_mat)
            scales.append(px_per_mm)
        table, mats, scales = np.concatenate(rows, 1).astype(float), np.concatenate(mats), np.concatenate(scales)
        for where, pick in (("on the mat", mats), ("off the mat", ~mats)):
            groups = {where: pick}
            for low, high in ((0, 4), (4, 8), (8, 99)):
                groups[f"{where}, {low} to {high} px/mm"] = pick & (scales >= low) & (scales < high)
            for key, chosen in groups.items():
                result[f"{name}, {key}"] = group(table[:-1, chosen])
                result[f"{name}, {key}"]["metal, by colour alone"] = round(float(over(table[-1, chosen, 0])), 4)
    text = json.dumps(result, indent=1)
    print(text)
    with open(out, "w") as f:
        f.write(text + "\n")


if __name__ == "__main__":
    main()
