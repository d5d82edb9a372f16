"""Blends two related networks (one trained on from the other) weight by weight; keeps the best share.

    python3 models/training/blend.py FIRST.pt SECOND.pt OUT.pt [SHARE]

The share is chosen on the check scenes of train.py with known surfaces, not on those that evaluate.py scores.
"""

import sys

import torch
from torch import nn

from camera import Camera
from network import MetalNet
from renderer import Renderer, pack_many
from train import CHECK_SEEDS, CHUNK, TRAIN_SEEDS, held_back_set, intersection_over_union

SHARES = (0.0, 0.25, 0.5, 0.75, 1.0)
SCENES = 960


@torch.no_grad()
def main():
    first, second = (torch.load(p, map_location="cuda") for p in sys.argv[1:3])
    renderer = Renderer("cuda")
    camera = Camera(renderer.device, torch.Generator("cuda").manual_seed(9))
    photos = []
    for i in range(0, SCENES, CHUNK):
        scenes, parts, tables, _ = pack_many(range(TRAIN_SEEDS + i, TRAIN_SEEDS + i + CHUNK), False)
        photos.append(camera.take(renderer.render(scenes, parts, tables)[0]).byte())
    photos = torch.cat(photos)
    checks = {held: held_back_set(renderer, 384, held, CHECK_SEEDS + 500_000 * held) for held in (False, True)}
    best = (-1.0, None)
    for share in [float(x) for x in sys.argv[4:]] or SHARES:
        net = MetalNet().cuda().to(memory_format=torch.channels_last)
        net.load_state_dict({k: torch.lerp(v, second[k], share) if v.is_floating_point() else v for k, v in first.items()})
        if 0 < share < 1:
            # Means and spreads of the layers do not blend with the weights: measured anew.
            for layer in net.modules():
                if isinstance(layer, nn.BatchNorm2d):
                    layer.reset_running_stats()
                    layer.momentum = None
            net.train()
            for i in range(0, SCENES, 32):
                net(photos[i : i + 32].float().contiguous(memory_format=torch.channels_last))
        net.eval()
        seen, held = (intersection_over_union(net, checks[h]) for h in (False, True))
        print(share, "seen", seen, "held", held, flush=True)
        score = seen["metal_mat"] + seen["metal_off"]
        if score > best[0]:
            best = (score, share)
            torch.save({k: v.cpu().contiguous() for k, v in net.state_dict().items()}, sys.argv[3])
    print("kept", best[1])


if __name__ == "__main__":
    main()
