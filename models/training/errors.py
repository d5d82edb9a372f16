"""Where the missing overlap lies, and how much a shifted edge alone would cost.

    python3 models/training/errors.py NETWORK OUT.json [WORST.jpg]

Ceiling: the truth against itself with every edge moved by so many pixels, from class maps five times as fine (so
shifts are fifths of a pixel).
"""

import json
import multiprocessing as mp
import os
import sys

import numpy as np
import torch
from scipy.ndimage import distance_transform_edt
from torch.nn import functional as F

from evaluate import batches
from read_onnx import load_network
from renderer import Renderer, pack_many
from train import CHECK_SEEDS, CHUNK

COUNT, CEILING, FINER = 960, 96, 5
FIRST = CHECK_SEEDS + 350_000
SHIFTS = (0.2, 1.0)
BANDS = (1, 2, 4)
MISSED = 0.7


def is_metal(mask):
    return (mask == 1) | (mask == 2)


def near_edge(truth, reach):
    """Pixels within `reach` px (a square) of the other side."""
    t = truth[:, None].half()
    return (F.max_pool2d(t, 2 * reach + 1, 1, reach) != -F.max_pool2d(-t, 2 * reach + 1, 1, reach))[:, 0]


@torch.no_grad()
def budget(net, renderer, held, worst):
    rows, mats = [], []
    for photo, mask, on_mat, _ in batches(renderer, FIRST + 500_000 * held, COUNT, held):
        truth, found = is_metal(mask), is_metal(net(photo.float()).argmax(1))
        wrong = truth != found
        total = lambda m: m.sum((1, 2))
        near = [near_edge(truth, reach) for reach in BANDS]
        columns = [truth & found, truth | found, wrong & ~truth] + [wrong & n for n in near]
        row = torch.stack([total(m) for m in columns], 1).cpu().numpy()
        rows.append(row)
        mats.append(on_mat)
        for i in range(len(row)):
            worst.append((int(row[i, 1] - row[i, 0]), photo[i, :, ::2, ::2].byte().cpu(), truth[i, ::2, ::2].cpu(), found[i, ::2, ::2].cpu()))
        worst.sort(key=lambda w: -w[0])
        del worst[48:]
    rows, mats = np.concatenate(rows).astype(float), np.concatenate(mats)
    out = {}
    for where, pick in (("on the mat", mats), ("off the mat", ~mats)):
        r = rows[pick]
        both, union, false = r[:, :3].sum(0)
        wrong = r[:, 1] - r[:, 0]
        missed = r[:, 0] < MISSED * r[:, 1]
        kept = r[~missed]
        out[where] = dict(
            scenes=len(r), metal=round(both / union, 4), false_share_of_wrong=round(false / wrong.sum(), 3),
            wrong_within_px={str(b): round(r[:, 3 + i].sum() / wrong.sum(), 3) for i, b in enumerate(BANDS)},
            scenes_under_070=int(missed.sum()), their_share_of_wrong=round(wrong[missed].sum() / wrong.sum(), 3),
            metal_without_them=round(kept[:, 0].sum() / kept[:, 1].sum(), 4),
            median_of_scenes=round(float(np.median((r[:, 0] / np.maximum(1, r[:, 1]))[r[:, 1] > 0])), 4))
    return out


def with_moved_edges(job):
    """Pixels of the truth, of the truth grown and of the truth shrunk, by shift."""
    m, on_mat = job
    if not m.any() or m.all():
        return on_mat, []
    centres = (slice(FINER // 2, None, FINER),) * 2
    # Half a cell lies between the last cell of one side and the edge.
    outside = (distance_transform_edt(~m)[centres] - 0.5) / FINER
    inside = (distance_transform_edt(m)[centres] - 0.5) / FINER
    truth = m[centres]
    return on_mat, [(truth.sum(), (truth | (outside < s)).sum(), (truth & (inside >= s)).sum()) for s in SHIFTS]


def ceiling(renderer):
    """Overlap of the truth with itself when all edges move outwards, and inwards."""
    def maps():
        for i in range(0, CEILING, 4):
            scenes, parts, tables, on_mat = pack_many(range(FIRST + i, FIRST + i + 4), False)
            yield from zip(is_metal(renderer.classes(scenes, parts, tables, FINER)).cpu().numpy(), on_mat)

    rows = {}
    with mp.get_context("spawn").Pool(max(1, (os.cpu_count() or 2) - 2)) as pool:
        for mat, counts in pool.imap(with_moved_edges, maps()):
            by = rows.setdefault("on the mat" if mat else "off the mat", {})
            for shift, (truth, wider, narrower) in zip(SHIFTS, counts):
                row = by.setdefault(str(shift), np.zeros(4))
                row += [truth, wider, narrower, truth]
    return {where: {s: dict(outwards=round(r[0] / r[1], 4), inwards=round(r[2] / r[3], 4)) for s, r in by.items()} for where, by in rows.items()}


def sheet(worst, path):
    from PIL import Image

    tiles = []
    for _, photo, truth, found in worst:
        painted = torch.stack([(truth & ~found), (found & ~truth), truth & found]).byte() * 255
        tiles.append(torch.cat([photo, painted[[0, 1, 2]]], 2))
    rows = [torch.cat(tiles[i : i + 4], 2) for i in range(0, len(tiles) - 3, 4)]
    Image.fromarray(torch.cat(rows, 1).permute(1, 2, 0).numpy()).save(path, quality=80)


def main():
    network, out = sys.argv[1:3]
    device = "cuda" if torch.cuda.is_available() else "cpu"
    renderer, net = Renderer(device), load_network(network, device)
    result = {"ceiling": ceiling(renderer)}
    for name, held in (("seen materials, new seeds", False), ("materials and surfaces never seen", True)):
        worst = []
        result[name] = budget(net, renderer, held, worst)
        if len(sys.argv) > 3:
            sheet(worst, sys.argv[3].replace(".jpg", "-never-seen.jpg" if held else "-seen.jpg"))
    print(json.dumps(result, indent=1))
    with open(out, "w") as f:
        f.write(json.dumps(result, indent=1) + "\n")


if __name__ == "__main__":
    main()
