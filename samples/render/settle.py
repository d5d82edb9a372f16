"""Quiets the light on matt surfaces: paper, cards and bench need no more than a few samples a pixel.

The picture is split as the renderer splits it: what is printed (colour) times the light that falls on it, plus
whatever mirrors. Only the light is smoothed, and only among matt points, so that printed edges and the edges of
parts stay exactly as rendered. Close to parts, where shadows have edges, it is smoothed less. Needs numpy only.
"""

import numpy as np


FINE_SAMPLES = 20
"""Light from this many samples a pixel is quiet enough after the narrowest smoothing."""


def settle(passes, samples, near_px=1.2, far_px=6.0):
    """Picture (h, w, 3) from `passes`: Image, DiffDir, DiffInd, DiffCol, each (h, w, 3) linear.

    `samples` (h, w, 1): how many went into each pixel; the fewer, the wider the narrow smoothing, so that what
    is left of the noise is everywhere alike.
    """
    colour = passes["DiffCol"]
    light = passes["DiffDir"] + passes["DiffInd"]
    mirrored = passes["Image"] - colour * light
    matt = np.minimum(1, colour.mean(axis=2) / 0.02)
    near = light
    levels = np.unique(samples)
    wide = np.minimum(near_px * np.sqrt(FINE_SAMPLES / levels), far_px)
    for sigma in np.unique(np.round(np.maximum(wide, near_px), 1)):
        here = np.isin(samples, levels[np.round(np.maximum(wide, near_px), 1) == sigma])
        near = np.where(here, _smooth(light, matt, sigma), near)
    far = _smooth(near, matt, far_px)
    # Shadows: where a wide average departs from a narrow one by more than noise, keep the narrow one.
    depart = np.abs(np.log((far.mean(axis=2) + 1e-4) / (near.mean(axis=2) + 1e-4)))
    depart = _gauss(_gauss(depart, 3.0, 0), 3.0, 1)
    use_far = np.clip(2.0 - depart / 0.02, 0, 1)[..., None]
    return mirrored + colour * (near + (far - near) * use_far)


def _smooth(light, weight, sigma):
    total = _gauss(_gauss(weight, sigma, 0), sigma, 1)
    out = np.empty_like(light)
    for c in range(3):
        out[..., c] = _gauss(_gauss(light[..., c] * weight, sigma, 0), sigma, 1) / np.maximum(total, 1e-6)
    return np.where((total > 1e-3)[..., None], out, light)


def _gauss(image, sigma, axis):
    n = int(np.ceil(3 * sigma))
    k = np.exp(-0.5 * (np.arange(-n, n + 1) / sigma) ** 2).astype(np.float32)
    k /= k.sum()
    wide = np.pad(image, [(n, n) if i == axis else (0, 0) for i in range(image.ndim)], mode="edge")
    size = image.shape[axis]
    out = np.zeros_like(image)
    for i in range(2 * n + 1):
        out += k[i] * (wide[i : i + size] if axis == 0 else wide[:, i : i + size])
    return out
