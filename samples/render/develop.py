"""Makes a phone photograph of rendered light: bends the lens, blurs, exposes, adds noise, sharpens, 8 bits.

  python3 samples/render/develop.py --shot NAME --out DIR        reads DIR/NAME.npy, writes DIR/NAME.rgb

NAME.rgb holds sRGB, 3 bytes a pixel, rows from the top, upright. Needs numpy only.
"""

import argparse
import json
import os
import sys

sys.dont_write_bytecode = True
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

import numpy as np  # noqa: E402

from camera import Camera, Pose, look, normalised, project  # noqa: E402
from shots import SHOTS, Develop  # noqa: E402


def bend(straight, camera: Camera, share=1.0):
    """The picture behind the lens, sampled with cubic B-splines.

    The spline is not made to pass through the pixels: it blurs by sqrt(1/3) px, which is part of the lens's
    blur, and has no overshoot and no shift. `straight` has its principal point in the exact middle.
    """
    h, w = straight.shape[:2]
    width, height = round(camera.width * share), round(camera.height * share)
    f = camera.f * share
    out = np.empty((height, width, 3), np.float32)
    straight = straight.astype(np.float32)
    for top in range(0, height, 64):
        rows = np.arange(top, min(top + 64, height))
        # At a share of the size, pixel centres of the small picture in pixels of the full one.
        v, u = np.meshgrid((rows + 0.5) / share - 0.5, (np.arange(width) + 0.5) / share - 0.5, indexing="ij")
        x, y = normalised(camera, u, v)
        px, py = x * f + (w - 1) / 2, y * f + (h - 1) / 2
        ix, iy = np.floor(px).astype(np.int32), np.floor(py).astype(np.int32)
        wx, wy = _spline((px - ix).astype(np.float32)), _spline((py - iy).astype(np.float32))
        total = np.zeros((*u.shape, 3), np.float32)
        for a in range(4):
            row = np.clip(iy + a - 1, 0, h - 1)
            for b in range(4):
                total += (wy[a] * wx[b])[..., None] * straight[row, np.clip(ix + b - 1, 0, w - 1)]
        out[rows] = total
    return out


def _spline(t):
    """Weights of the cubic B-spline at the four nearest pixels."""
    return (1 - t) ** 3 / 6, (3 * t**3 - 6 * t**2 + 4) / 6, (-3 * t**3 + 3 * t**2 + 3 * t + 1) / 6, t**3 / 6


def blur(image, sigma):
    """Gaussian, rows then columns; edges repeated."""
    if sigma < 0.05:
        return image
    n = int(np.ceil(4 * sigma))
    k = np.exp(-0.5 * (np.arange(-n, n + 1) / sigma) ** 2).astype(np.float32)
    k /= k.sum()
    for axis in (0, 1):
        pad = [(n, n) if i == axis else (0, 0) for i in range(image.ndim)]
        wide = np.pad(image, pad, mode="edge")
        size = image.shape[axis]
        image = sum(k[i] * np.take(wide, range(i, i + size), axis=axis) for i in range(2 * n + 1))
    return image


def tone(linear):
    """sRGB with a gentle shoulder, so that highlights do not clip at once."""
    knee = 0.78
    x = np.where(linear > knee, knee + (1 - knee) * (1 - np.exp(-(linear - knee) / (1 - knee))), linear)
    return np.where(x <= 0.0031308, 12.92 * x, 1.055 * np.maximum(x, 1e-6) ** (1 / 2.4) - 0.055)


def develop(straight, camera: Camera, pose: Pose, how: Develop, seed, share=1.0):
    """8-bit sRGB (height, width, 3)."""
    rng = np.random.default_rng(9000 + seed)
    light = blur(bend(straight, camera, share), how.blur_px)
    h, w = light.shape[:2]
    v, u = np.meshgrid(np.linspace(-1, 1, h, dtype=np.float32), np.linspace(-1, 1, w, dtype=np.float32), indexing="ij")
    light *= (1 - how.vignette * 0.5 * (u * u + v * v))[..., None]
    middle = light[h // 4 : 3 * h // 4, w // 4 : 3 * w // 4].reshape(-1, 3)
    # White point: the camera takes the bright paper for white and puts it where `paper` says.
    white = np.percentile(middle, 90, axis=0)
    if how.white_at:
        u, v = np.rint(project(camera, pose, [*how.white_at, 0.0]) * share).astype(int)
        white = np.median(light[v - 12 : v + 13, u - 12 : u + 13].reshape(-1, 3), axis=0)
    gains = how.paper / white
    gains[0] *= how.white_balance[0]
    gains[2] *= how.white_balance[1]
    light *= gains.astype(np.float32)
    # Shot and read noise of the sensor, then the camera's own smoothing, stronger in colour than in brightness.
    noise = rng.standard_normal(light.shape, np.float32) * np.sqrt(3.2e-4 * np.clip(light, 0, 4) + 3e-6) * how.noise
    colour = noise - noise.mean(axis=2, keepdims=True)
    light += blur(noise.mean(axis=2, keepdims=True), 0.45) * 1.3 + blur(colour, 1.1) * 1.3
    light = np.clip(light, 0, 8)
    encoded = tone(light)
    if how.sharpen:
        bright = encoded @ np.array([0.30, 0.59, 0.11], np.float32)
        encoded += (how.sharpen * (bright - blur(bright, 1.1)))[..., None]
    return np.clip(np.rint(encoded * 255), 0, 255).astype(np.uint8)


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--shot", required=True, choices=sorted(SHOTS))
    parser.add_argument("--out", required=True)
    parser.add_argument("--share", type=float, default=1.0)
    args = parser.parse_args()
    shot = SHOTS[args.shot]
    pose = look(shot.foot, shot.distance, shot.tilt, shot.tilt_towards, shot.roll)
    straight = np.load(os.path.join(args.out, f"{shot.name}.npy"), mmap_mode="r")
    picture = develop(np.asarray(straight), Camera.of(shot.lens, *shot.size), pose, shot.develop, shot.seed, args.share)
    picture.tofile(os.path.join(args.out, f"{shot.name}.rgb"))
    print(f"{shot.name}: {picture.shape[1]} x {picture.shape[0]} developed")
    with open(os.path.join(args.out, f"{shot.name}.shot.json"), "w") as f:
        json.dump(
            {
                "width_px": picture.shape[1],
                "height_px": picture.shape[0],
                "exif_orientation": shot.stored_turn,
                "quality": shot.develop.quality,
                "camera": shot.lens.name,
                "focal_length_mm": shot.lens.focal_length_mm,
                "focal_length_35mm": shot.lens.focal_length_35mm,
                "taken": f"2024:11:09 10:{shot.seed % 60:02d}:00",
            },
            f,
        )
