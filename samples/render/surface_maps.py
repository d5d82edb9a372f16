"""The skin of brass as maps, made once per wheel: stain, roughness, relief. Needs numpy only."""

import numpy as np

MAP_MM = 80.0
MAP_PX = 2048


def _grid():
    c = (np.arange(MAP_PX) + 0.5) / MAP_PX * MAP_MM - MAP_MM / 2
    return np.meshgrid(c, c)


def _noise(rng, low_mm, high_mm, slope=1.0, stretch=(1.0, 1.0), turn=0.0):
    """Noise of mean 0 and standard deviation 1 with waves from `low_mm` to `high_mm` long; tiles."""
    f = np.fft.fftfreq(MAP_PX, MAP_MM / MAP_PX)
    fx, fy = np.meshgrid(f[: MAP_PX // 2 + 1], f)
    c, s = np.cos(turn), np.sin(turn)
    k = np.hypot((c * fx + s * fy) * stretch[0], (c * fy - s * fx) * stretch[1])
    with np.errstate(divide="ignore"):
        size = np.where(k > 0, k ** -slope, 0) * np.exp(-((k * low_mm) ** 2)) * (1 - np.exp(-((k * high_mm) ** 2)))
    phase = np.fft.rfft2(rng.standard_normal((MAP_PX, MAP_PX)).astype(np.float32))
    out = np.fft.irfft2(phase * size, (MAP_PX, MAP_PX))
    return (out / out.std()).astype(np.float32)


def _smooth_step(x, low, high):
    t = np.clip((x - low) / (high - low), 0, 1)
    return t * t * (3 - 2 * t)


def _scratches(rng, count):
    """Fine lines of all lengths, 0 to 1."""
    out = np.zeros((MAP_PX, MAP_PX), np.float32)
    for _ in range(count):
        length = rng.exponential(9.0) + 1
        a, bend = rng.uniform(0, np.pi), rng.normal(0, 0.02)
        t = np.arange(0, length, 0.03)
        x = rng.uniform(-38, 38) + t * np.cos(a + bend * t)
        y = rng.uniform(-38, 38) + t * np.sin(a + bend * t)
        i = ((y / MAP_MM + 0.5) * MAP_PX).astype(int) % MAP_PX
        j = ((x / MAP_MM + 0.5) * MAP_PX).astype(int) % MAP_PX
        depth = rng.uniform(0.25, 1.0) ** 2 * np.sin(np.pi * (t + 0.3) / (length + 0.6))
        out[i, j] = np.maximum(out[i, j], depth)
    near = sum(np.roll(out, s, a) for s in (-1, 1) for a in (0, 1))
    return np.minimum(1, 0.7 * out + 0.12 * near)


def brass_maps(finish, seed):
    """(MAP_PX, MAP_PX, 3) float32, row 0 at y = -MAP_MM / 2: stain 0..1, roughness, relief in micrometres."""
    rng = np.random.default_rng(500 + seed)
    broad = _noise(rng, 4, 40)
    spots = _noise(rng, 0.4, 12, 1.3)
    scratches = _scratches(rng, 420)
    turn = rng.uniform(0, np.pi)
    if finish == "lathe":
        x, y = _grid()
        line = _noise(rng, 0.05, 1.2, 0.4)[0] + 0.4 * _noise(rng, 0.3, 4, 0.5)[0]
        r = np.hypot(x, y) / (MAP_MM / MAP_PX)
        lay = np.interp(r, np.arange(MAP_PX), line)
        rough, lay_um = 0.25, 2.2
    elif finish == "polished":
        lay, rough, lay_um = _noise(rng, 0.3, 6), 0.20, 0.5
    else:
        lay = _noise(rng, 0.06, 1.5, 0.5, (26.0, 1.0), turn)
        rough, lay_um = 0.28, 3.0
    stain = 0.38 * _smooth_step(spots + 0.5 * broad, 1.0, 3.0) + 0.07 * np.clip(broad, -1, 2)
    roughness = rough + 0.035 * broad + 0.10 * stain + 0.06 * scratches
    relief = lay_um * lay - 4.0 * scratches
    if finish == "patina":
        old = _smooth_step(0.8 * broad + 0.6 * spots, -1.0, 0.6)
        pits = _smooth_step(_noise(rng, 0.12, 1.5), 1.6, 2.4)
        stain = np.clip(0.30 + 0.62 * old + 0.2 * pits - 0.35 * scratches, 0, 1)
        roughness = 0.38 + 0.24 * old + 0.03 * spots
        relief = 0.6 * lay - 2.0 * scratches - 5.0 * pits + 1.6 * _noise(rng, 0.15, 2)
    return np.stack([np.clip(stain, 0, 1), np.clip(roughness, 0.08, 0.9), relief], axis=-1).astype(np.float32)
