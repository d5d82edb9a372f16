"""Strips of rims: the teeth of a wheel in a rendered photograph, unrolled about its centre, and what is true of them.

A strip has ROWS rows, the first ABOVE steps outside the tips, and columns that go round the rim; rows and columns
lie one step apart, in pixels. `src/parts/wheel/tooth-strip.ts` reads the same strips of photographs.
"""

import math

import numpy as np
import torch
from torch.nn import functional as F

from scenes import DISC, METAL, PROFILE_N, SIZE, STEEL, WHEEL, MAX_PARTS, PART_F, Scene

ROWS, ABOVE = 32, 8
WHEELS, TEETH, WHEEL_F = 4, 144, 24  # wheels of a scene at most, teeth of a wheel, numbers of a wheel
MIDDLE = 0.45  # of the depth, from the root: where a tooth is asked for
PITCH_PX = (2.6, 45)
LEAST_STEPS = 30  # from the middle of a wheel to its tips: strips of small pinions end before their middle
NO_TEETH = -1  # in the place of their number: a coin, a washer, a collet
# One wheel: origin 0..2, rotation 3..11, height of the face, tip, root, teeth, phase, left and right flank, px per mm.
ORIGIN, ROTATION, FACE, TIP, ROOT, N, PHASE, LEFT, RIGHT, SCALE = 0, 3, 12, 13, 14, 15, 16, 17, 18, 19


def project(s, points):
    """Scene and points (..., 3) in mm -> pixels (..., 2), x and y."""
    frame = np.stack([s[9:12], s[3:6], s[6:9]], axis=1).astype(float)  # ahead, right, down
    q = (points - s[0:3]) @ np.linalg.inv(frame).T
    return q[..., 1:] / q[..., :1] + (SIZE - 1) / 2


def rim_of(s, row):
    """64 points round the tips, px, and px per mm along them."""
    a = np.linspace(0, 2 * math.pi, 64, endpoint=False)
    tip = row[TIP]
    rim = row[:3] + np.stack([tip * np.cos(a), tip * np.sin(a), np.full(64, row[FACE])], 1) @ row[3:12].reshape(3, 3).T
    px = project(s, rim)
    return px, np.linalg.norm(np.diff(px, axis=0, append=px[:1]), axis=1).sum() / (2 * math.pi * tip)


def wheels_of(s, parts, table):
    """Wheels, and at most one round thing without teeth: (WHEELS, WHEEL_F), N = 0 where there is none, and heights and
    leanings of their teeth (WHEELS, TEETH, 2)."""
    rows, teeth = np.zeros((WHEELS, WHEEL_F), np.float32), np.zeros((WHEELS, TEETH, 2), np.float32)
    found, plain = 0, 0
    for p in parts[: int(s[12])]:
        if int(p[0]) == DISC and p[18] < 3 and p[15] > 0.9 and found < WHEELS and plain < 1:
            row = np.zeros(WHEEL_F, np.float32)
            row[:16] = [*p[4:7], *p[7:16], p[3], p[19], 0.85 * p[19], NO_TEETH]
            px, scale = rim_of(s, row)
            if ((px > 2) & (px < SIZE - 3)).all() and p[19] * scale > 0.5 * LEAST_STEPS:
                row[SCALE] = scale
                rows[found] = row
                found, plain = found + 1, 1
            continue
        if found == WHEELS or int(p[0]) != WHEEL or int(p[16]) not in (METAL, STEEL) or p[20] <= 0:
            continue
        n, tip, root = int(p[18]), p[19], p[20]
        at = int(p[30])
        profile = table[at : at + 2 * PROFILE_N]
        rotation, origin = p[7:16].reshape(3, 3), p[4:7]
        if rotation[2, 2] < 0.8 or profile[PROFILE_N] - profile[0] > 0.98:
            continue  # on its side; a count wheel, whose teeth touch
        px, scale = rim_of(s, np.array([*origin, *p[7:16], p[3], tip]))
        inside = ((px > 2) & (px < SIZE - 3)).all(1).mean()
        pitch = 2 * math.pi * tip * scale / n
        if inside < 0.6 or not PITCH_PX[0] < pitch < PITCH_PX[1] or tip * scale < 0.5 * LEAST_STEPS:
            continue
        i = MIDDLE * (PROFILE_N - 1)
        left, right = (np.interp(i, np.arange(PROFILE_N), half) for half in (profile[:PROFILE_N], profile[PROFILE_N:]))
        rows[found, :20] = [*origin, *p[7:16], p[3], tip, root, n, p[29], left, right, scale]
        k = int(p[31])
        teeth[found, :n] = table[k : k + 2 * n].reshape(n, 2)
        found += 1
    return rows, teeth


def pack_strips(seed, held_back=False, wide=False):
    """As `pack_scene`, of finer teeth, with the wheels."""
    scene = Scene(seed, held_back, wide)
    scene.pitches_mm = (0.5, 4.0)
    scene.build()
    parts = np.zeros((MAX_PARTS, PART_F), np.float32)
    for i, p in enumerate(scene.parts):
        parts[i] = p
    return (scene.s, parts, scene.table, *wheels_of(scene.s, parts, scene.table))


class Strips:
    """Cuts strips out of photographs on the GPU, a little wrong as the program's own are."""

    def __init__(self, device, generator, columns):
        self.device, self.g, self.columns = device, generator, columns

    def u(self, n, a, b):
        return a + (b - a) * torch.rand(n, device=self.device, generator=self.g)

    def n(self, n):
        return torch.randn(n, device=self.device, generator=self.g)

    def pixels(self, s, w, radius, angle):
        """Scenes (B, 192), wheels (B, WHEEL_F), polar points on the faces (B, ...), mm and rad -> (B, ..., 2) pixels."""
        b = len(s)
        shape = (b,) + (1,) * (radius.dim() - 1)
        face = w[:, FACE].view(shape).expand_as(radius)
        local = torch.stack([radius * torch.cos(angle), radius * torch.sin(angle), face], -1)
        rotation = w[:, ROTATION:FACE].view(b, 3, 3)
        flat = local.reshape(b, -1, 3)
        world = torch.einsum("bij,bpj->bpi", rotation, flat) + w[:, None, ORIGIN : ORIGIN + 3]
        frame = torch.stack([s[:, 9:12], s[:, 3:6], s[:, 6:9]], 2)
        q = torch.einsum("bij,bpj->bpi", torch.linalg.inv(frame), world - s[:, None, 0:3])
        return (q[..., 1:] / q[..., :1] + (SIZE - 1) / 2).view(*local.shape[:-1], 2)

    def cut(self, photo, mask, s, w, teeth):
        """(B, 3, H, W) 0..255, classes (B, H, W), scenes, wheels, teeth -> strips (B, 3, ROWS, C),
        truth (B, 3, C), weights (B, C), pitches in px (B; -1: no teeth), and how many teeth have gone by (B, C).

        Truth: cosine and sine of the place within a pitch, and whether a tooth is there; no tooth has no place.
        """
        b, c = len(s), self.columns
        # A row without a wheel stays finite, and weighs nothing.
        n, tip, root, scale = w[:, N].clamp(min=1), w[:, TIP].clamp(min=1), w[:, ROOT], w[:, SCALE].clamp(min=0.1)
        pitch = 2 * math.pi * tip * scale / n
        # Columns of a pitch, as the program chooses them: not finer than half a pixel.
        per_pitch = torch.exp(self.u(b, math.log(4.5), math.log(30)))
        step = torch.maximum(pitch / per_pitch, self.u(b, 0.45, 0.6)) / scale
        step = torch.minimum(step, tip / LEAST_STEPS)
        angle = self.u(b, 0, 2 * math.pi)[:, None] + (step / tip)[:, None] * torch.arange(c, device=self.device)
        px = 1 / scale
        # The centre is off by a tenth of a pixel, or, where a shadow was taken for metal, by half a tooth.
        depth = tip - root
        most = torch.maximum(2.5 * px, torch.minimum(0.6 * depth, 8 * px))
        off = torch.exp(self.u(b, 0, 1) * torch.log(most / (0.1 * px))) * 0.1 * px * self.u(b, 0.3, 1.5)
        side = self.u(b, 0, 2 * math.pi)[:, None]
        along, across = off[:, None] * torch.cos(angle - side), -off[:, None] * torch.sin(angle - side)
        swing = (0.4 * px * self.n(b))[:, None] * torch.cos(2 * angle + self.u(b, 0, 2 * math.pi)[:, None])
        swing = swing + (torch.maximum(px, 0.25 * depth) * 0.8 * self.n(b).clamp(-2.5, 2.5))[:, None]
        rows = torch.arange(ROWS, device=self.device)
        radius = (tip[:, None] + swing)[:, None, :] + step[:, None, None] * (ABOVE - rows)[None, :, None]
        # To first order in how far the centre is off, which is little beside the radius.
        turned = angle[:, None, :] + across[:, None, :] / radius.clamp(min=1e-3)
        at = self.pixels(s, w, radius + along[:, None, :], turned)
        grid = (at + 0.5) * 2 / SIZE - 1
        strip = F.grid_sample(photo, grid.to(photo.dtype), mode="bilinear", padding_mode="zeros", align_corners=False).float()
        seen = ((at > 0) & (at < SIZE - 1)).all(-1).all(1)
        # truth
        toothed = w[:, N] > 0
        about = angle + across / tip[:, None]
        turns = (about - w[:, PHASE, None]) * n[:, None] / (2 * math.pi)
        middle = (w[:, LEFT] + w[:, RIGHT])[:, None] / 2
        k = torch.round(turns - middle)
        index = torch.remainder(k, n[:, None]).long()
        high = torch.gather(teeth[:, :, 0], 1, index)
        lean = torch.gather(teeth[:, :, 1], 1, index) * MIDDLE**2
        place = turns - k - lean
        is_tooth = ((place >= w[:, LEFT, None]) & (place <= w[:, RIGHT, None]) & (high >= MIDDLE)).float()
        there = ((high - 0.2) / 0.5).clamp(0, 1)
        turn = 2 * math.pi * (place - middle)
        there = there * toothed[:, None]
        truth = torch.stack([there * torch.cos(turn), there * torch.sin(turn), is_tooth], 1)
        # Where the middle of a tooth shows no metal, something lies over it; a wheel mostly covered is left out.
        middles = self.pixels(s, w, (root + MIDDLE * depth)[:, None].expand(b, c), about)
        i = middles.round().long().clamp(0, SIZE - 1)
        metal = mask.view(b, -1).gather(1, i[..., 1] * SIZE + i[..., 0])
        metal = (metal == METAL) | (metal == STEEL)
        hidden = (is_tooth > 0) & ~metal & seen
        share = hidden.sum(1) / ((is_tooth > 0) & seen).sum(1).clamp(min=1)
        whole = (share < 0.35) & toothed | (w[:, N] == NO_TEETH)
        weight = seen.float() * whole.float()[:, None]
        return strip * seen[:, None, None, :], truth, weight, torch.where(toothed, pitch, -1.0), turns


def normalised(strip):
    """Each strip by its own mean and spread: the network sees how colours differ, not how bright they are."""
    mean = strip.mean((1, 2, 3), keepdim=True)
    spread = strip.std((1, 2, 3), keepdim=True) + 4
    return (strip - mean) / spread
