"""Metal of two or more networks on the same scenes, seeds that nothing else uses; differences with 95 % intervals.

    python3 models/training/compare.py OUT.json FIRST.pt SECOND.pt ...
"""

import json
import sys

import numpy as np
import torch

from evaluate import batches
from network import MetalNet
from renderer import Renderer
from train import CHECK_SEEDS

COUNT = 1440


def over(rows):
    return rows[..., 0].sum(-1) / rows[..., 1].sum(-1)


@torch.no_grad()
def main():
    out, paths = sys.argv[1], sys.argv[2:]
    renderer = Renderer("cuda")
    nets = []
    for path in paths:
        net = MetalNet().cuda().to(memory_format=torch.channels_last).eval()
        net.load_state_dict(torch.load(path, map_location="cuda"))
        nets.append(net)
    result = {}
    for name, held in (("seen materials, new seeds", False), ("materials and surfaces never seen", True)):
        rows, mats = [[] for _ in nets], []
        for photo, mask, on_mat, _ in batches(renderer, CHECK_SEEDS + 300_000 + 500_000 * held, COUNT, held):
            truth = (mask == 1) | (mask == 2)
            mats.append(on_mat)
            x = photo.float().contiguous(memory_format=torch.channels_last)
            for net, kept in zip(nets, rows):
                with torch.autocast("cuda", torch.bfloat16):
                    found = net(x).argmax(1)
                found = (found == 1) | (found == 2)
                kept.append(torch.stack([(found & truth).sum((1, 2)), (found | truth).sum((1, 2))], 1).cpu().numpy())
        table, mats = np.array([np.concatenate(r) for r in rows]).astype(float), np.concatenate(mats)
        for where, pick in (("on the mat", mats), ("off the mat", ~mats)):
            t = table[:, pick]
            score = over(t)
            # Whole scenes are drawn again with replacement: scenes, not pixels, are independent.
            again = np.random.default_rng(1).integers(0, t.shape[1], (1000, t.shape[1]))
            drawn = np.array([over(row[again]) for row in t])
            result[f"{name}, {where}"] = dict(
                scenes=int(t.shape[1]), metal=[round(float(v), 4) for v in score],
                gain=[[round(float(v), 4) for v in np.quantile(d - drawn[0], (0.025, 0.975))] for d in drawn[1:]])
    print(json.dumps(result, indent=1))
    with open(out, "w") as f:
        f.write(json.dumps(result, indent=1) + "\n")


if __name__ == "__main__":
    main()
