"""A sheet of training photographs with their class maps, to look at.

    python3 models/training/sheet.py FIRST_SEED COUNT OUT.jpg [held|wide]
"""

import sys
import time

import torch
from PIL import Image

from camera import Camera
from renderer import Renderer, pack_many


def main():
    first, count, out = int(sys.argv[1]), int(sys.argv[2]), sys.argv[3]
    device = "cuda" if torch.cuda.is_available() else "cpu"
    renderer = Renderer(device)
    started = time.time()
    packed = pack_many(range(first, first + count), "held" in sys.argv[4:], "wide" in sys.argv[4:])[:3]
    middle = time.time()
    rgb, mask = renderer.render(*packed)
    print(f"{count} scenes: packed in {middle - started:.2f} s, rendered in {time.time() - middle:.2f} s")
    started = time.time()
    photo = Camera(device, torch.Generator(device).manual_seed(first)).take(rgb)
    if device == "cuda":
        torch.cuda.synchronize()
    print(f"photographed in {time.time() - started:.2f} s")
    colours = torch.tensor([[0, 0, 0], [255, 190, 60], [60, 160, 255], [120, 60, 120]], device=device).float()
    painted = colours[mask.long()].permute(0, 3, 1, 2)
    tiles = torch.cat([torch.nn.functional.avg_pool2d(photo, 2), painted[:, :, ::2, ::2]], 3)
    columns = 4
    rows = [torch.cat(list(tiles[i : i + columns]), 2) for i in range(0, count - count % columns, columns)]
    sheet = torch.cat(rows, 1).byte().permute(1, 2, 0).cpu().numpy()
    Image.fromarray(sheet).save(out, quality=85)


if __name__ == "__main__":
    main()
