"""Scores a trained network on scenes that it has never seen, beside a model that knows colours alone.

    python3 models/training/evaluate.py WEIGHTS.pt OUT.json
"""

import json
import sys

import numpy as np
import torch

from camera import Camera
from network import MetalNet
from renderer import Renderer, pack_many
from train import CHECK_SEEDS, CHUNK, TRAIN_SEEDS

COUNT = 480
BINS = 32


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


@torch.no_grad()
def main():
    weights, out = sys.argv[1:3]
    device = "cuda" if torch.cuda.is_available() else "cpu"
    renderer = Renderer(device)
    net = MetalNet().to(device).to(memory_format=torch.channels_last).eval()
    net.load_state_dict(torch.load(weights, map_location=device))
    # Colour alone: how often each colour was metal in 1600 training photographs.
    metal, seen = torch.zeros(BINS**3, device=device), torch.zeros(BINS**3, device=device)
    for photo, mask, _, _ in batches(renderer, TRAIN_SEEDS, 1600, False):
        index, truth = cell(photo).reshape(-1), ((mask == 1) | (mask == 2)).reshape(-1).float()
        metal += torch.bincount(index, truth, BINS**3)
        seen += torch.bincount(index, minlength=BINS**3)
    share = metal / seen.clamp(min=1)
    result, colour_cut = {}, 0.0
    best = -1.0
    for cut in np.arange(0.1, 0.7, 0.05):  # the cut that serves it best on photographs not scored below
        both = union = 0
        for photo, mask, _, _ in batches(renderer, TRAIN_SEEDS + 5000, 96, False):
            a, b = share[cell(photo)] > cut, (mask == 1) | (mask == 2)
            both, union = both + float((a & b).sum()), union + float((a | b).sum())
        if both / union > best:
            best, colour_cut = both / union, float(cut)
    for name, held in (("seen materials, new seeds", False), ("materials and surfaces never seen", True)):
        tally = {}
        for photo, mask, on_mat, px_per_mm in batches(renderer, CHECK_SEEDS + 200_000 + 500_000 * held, COUNT, held):
            with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
                found = net(photo.float().contiguous(memory_format=torch.channels_last)).argmax(1)
            is_metal = (mask == 1) | (mask == 2)
            by = {"metal": ((found == 1) | (found == 2), is_metal), "steel": (found == 2, mask == 2), "hole": (found == 3, mask == 3),
                  "metal, by colour alone": (share[cell(photo)] > colour_cut, is_metal)}
            for what, (a, b) in by.items():
                both, union = (a & b).sum((1, 2)).tolist(), (a | b).sum((1, 2)).tolist()
                for i in range(len(both)):
                    where = "on the mat" if on_mat[i] else "off the mat"
                    finer = f"{where}, {'under 4' if px_per_mm[i] < 4 else '4 to 8' if px_per_mm[i] < 8 else '8 and more'} px/mm"
                    for group in (where, finer):
                        t = tally.setdefault(group, {}).setdefault(what, [0, 0])
                        t[0] += both[i]
                        t[1] += union[i]
        result[name] = {g: {w: round(b / max(1, u), 4) for w, (b, u) in t.items()} for g, t in sorted(tally.items())}
    text = json.dumps(result, indent=1)
    print(text)
    with open(out, "w") as f:
        f.write(text + "\n")


if __name__ == "__main__":
    main()
