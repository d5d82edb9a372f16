"""Builds render.cu and calls it on torch tensors: linear-light pictures and class maps from packed scenes."""

import ctypes
import hashlib
import os
import subprocess
import tempfile

import numpy as np
import torch

from scenes import MAX_PARTS, PART_F, SCENE_F, SIZE, TABLE_F, mat_table, pack_scene

SOURCE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "render.cu")


def build(cuda):
    """Path of the built library; built once per content of the source."""
    with open(SOURCE, "rb") as f:
        name = hashlib.sha256(f.read()).hexdigest()[:12]
    out = os.path.join(tempfile.gettempdir(), f"render-{name}-{'gpu' if cuda else 'cpu'}.so")
    if not os.path.exists(out):
        if cuda:
            command = ["nvcc", "-O3", "-use_fast_math", "-arch=sm_90", "-shared", "-Xcompiler", "-fPIC", SOURCE, "-o", out]
        else:
            command = ["g++", "-O2", "-ffast-math", "-x", "c++", "-shared", "-fPIC", SOURCE, "-o", out]
        subprocess.run(command, check=True)
    return out


class Renderer:
    def __init__(self, device):
        self.device = torch.device(device)
        self.library = ctypes.CDLL(build(self.device.type == "cuda"))
        self.mats = torch.from_numpy(mat_table()).to(self.device).contiguous()

    def render(self, scenes, parts, tables):
        """numpy (B, 192), (B, 28, 64), (B, 4096) -> float32 (B, 3, 640, 640) linear, uint8 (B, 640, 640) classes."""
        count = len(scenes)
        assert scenes.shape == (count, SCENE_F) and parts.shape == (count, MAX_PARTS, PART_F) and tables.shape == (count, TABLE_F)
        put = lambda a: torch.from_numpy(np.ascontiguousarray(a, np.float32)).to(self.device)
        s, p, t = put(scenes), put(parts), put(tables)
        rgb = torch.full((count, 3, SIZE, SIZE), float("nan"), device=self.device)
        mask = torch.full((count, SIZE, SIZE), 255, dtype=torch.uint8, device=self.device)
        if self.device.type == "cuda":
            torch.cuda.synchronize()
        at = lambda x: ctypes.c_void_p(x.data_ptr())
        code = self.library.renderScenes(at(s), at(p), at(t), at(self.mats), count, SIZE, at(rgb), at(mask))
        if code != 0:
            raise RuntimeError(f"renderScenes: CUDA error {code}")
        return rgb, mask

    def classes(self, scenes, parts, tables, finer):
        """The class map alone, uint8, `finer` times as many rows and columns (odd: pixel centres then have a cell)."""
        scenes = np.array(scenes, np.float32)
        scenes[:, 3:9] /= finer  # right and down
        count, size = len(scenes), SIZE * finer
        s, p, t = (torch.from_numpy(np.ascontiguousarray(a, np.float32)).to(self.device) for a in (scenes, parts, tables))
        mask = torch.empty((count, size, size), dtype=torch.uint8, device=self.device)
        if self.device.type == "cuda":
            torch.cuda.synchronize()
        at = lambda x: ctypes.c_void_p(x.data_ptr())
        code = self.library.renderClasses(at(s), at(p), at(t), count, size, at(mask))
        if code != 0:
            raise RuntimeError(f"renderClasses: CUDA error {code}")
        return mask


def pack_many(seeds, held_back, wide=False):
    rows = [pack_scene(seed, held_back, wide) for seed in seeds]
    return tuple(np.stack([r[i] for r in rows]) for i in range(3)) + (np.array([r[3] for r in rows]),)
