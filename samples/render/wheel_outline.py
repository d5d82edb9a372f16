"""A wheel's outline with its faults, in its own frame: millimetres, origin at the bore. Needs numpy only."""

from dataclasses import dataclass

import numpy as np

from movement import Wheel
from tooth_profile import (
    CHORD_MM,
    _arc,
    addendum_factor,
    count_wheel_outline,
    escape_wheel_pitch,
    notched_disc,
    train_wheel_pitch,
)

BLOWS = tuple(range(1, 13))
SLOT_WIDTH_MM, SLOT_DEPTH_MM = 3.0, 2.2
"""Of locking cams."""


@dataclass(frozen=True)
class Tooth:
    number: int
    angle: float
    """Of the tip about the centre of the tooth circle, rad, faults included."""
    tip_radius: float
    state: str
    offset: float = 0.0


@dataclass(frozen=True)
class Outline:
    outer: np.ndarray
    """(n, 2), counter-clockwise."""
    holes: list[np.ndarray]
    """Each (n, 2), clockwise: metal lies on the left of every outline."""
    teeth: list[Tooth]
    centre: np.ndarray
    """Centre of the tooth circle."""
    tip_radius: float
    root_radius: float


def draw_outline(wheel: Wheel) -> Outline:
    rng = np.random.default_rng(1000 + wheel.seed)
    e = wheel.eccentricity * _unit(np.radians(wheel.eccentricity_angle))
    if wheel.kind == "count-wheel":
        pieces, teeth = [count_wheel_outline(BLOWS, wheel.tip_diameter, wheel.filled)], []
        tip, root = wheel.tip_diameter / 2, wheel.tip_diameter / 2 - 2.8
    elif wheel.kind == "locking-cam":
        pieces, teeth = [notched_disc(np.radians(wheel.slots), wheel.tip_diameter, SLOT_WIDTH_MM, SLOT_DEPTH_MM)], []
        tip, root = wheel.tip_diameter / 2, wheel.tip_diameter / 2 - SLOT_DEPTH_MM
    else:
        pieces, teeth, tip, root = _toothed(wheel, rng)
    polar = np.concatenate(pieces)
    r = polar[:, 0] + wheel.ovality / 4 * np.cos(2 * (polar[:, 1] - np.radians(wheel.ovality_angle)))
    outer = np.stack([r * np.cos(polar[:, 1]), r * np.sin(polar[:, 1])], axis=-1) + e
    holes = []
    if wheel.crossings:
        holes += crossing_holes(wheel.crossings, root)
    holes.append(_circle((0, 0), wheel.bore / 2))
    for place, angle, diameter in wheel.holes:
        holes.append(_circle(place * _unit(np.radians(angle)), diameter / 2))
    return Outline(_thin(outer), [h[::-1] for h in holes], teeth, e, tip, root)


def _unit(a):
    return np.array([np.cos(a), np.sin(a)])


def _circle(centre, radius):
    return _arc(centre, radius, 0, 2 * np.pi)[:-1]


def _thin(points, least=2e-4):
    """Drops points that repeat their neighbour: they have no direction."""
    keep = np.hypot(*(points - np.roll(points, 1, axis=0)).T) > least
    return points[keep]


def _toothed(wheel, rng):
    n = wheel.teeth
    if wheel.kind == "escape-wheel":
        pitch = escape_wheel_pitch(n, wheel.tip_diameter)
    else:
        pitch = train_wheel_pitch(n, wheel.module, wheel.leaves)
    tip, root = pitch[:, 0].max(), pitch[:, 0].min()
    index = rng.normal(0, wheel.index_error / tip, n)
    index -= index.mean()
    bent = dict(wheel.bent)
    pieces, teeth = [], []
    for k in range(n):
        centre = 2 * np.pi * k / n + index[k]
        r, a = pitch[:, 0].copy(), pitch[:, 1].copy()
        height = np.clip((r - root) / (tip - root), 0, 1)
        if k in wheel.missing:
            # Broken off just above the root: a low uneven stump.
            low = height <= 0.06
            first, last = np.flatnonzero(~low)[[0, -1]]
            a_stump = np.linspace(a[first - 1], a[last + 1], 16)[1:-1]
            r_stump = root + np.interp(np.arange(14), range(0, 15, 2), rng.uniform(0.06, 0.26, 8))
            r = np.concatenate([r[:first], r_stump, r[last + 1 :]])
            a = np.concatenate([a[:first], a_stump, a[last + 1 :]])
            height = np.zeros_like(r)
            teeth.append(Tooth(k, 2 * np.pi * k / n, root, "missing"))
        elif k in bent:
            a = a + bent[k] / tip * height**1.5
            teeth.append(Tooth(k, centre + bent[k] / tip, tip, "bent", bent[k]))
        else:
            teeth.append(Tooth(k, centre, tip, "whole"))
        # The index error belongs to the tooth; the bottom of the space stays put.
        pieces.append(np.stack([r, 2 * np.pi * k / n + a + index[k] * np.minimum(1, 4 * height)], axis=-1))
    return pieces, teeth, tip, root


def crossing_holes(c, root_radius):
    """Holes between tapering arms, corners rounded; counter-clockwise. Arm k points to angle 360 k / count."""
    outer, inner, rho = root_radius - c.rim_width, c.hub_radius, c.fillet
    mid = np.pi / c.count
    # Right side of the hole about its own middle line: the edge of the arm at angle -mid.
    def edge(radius, width):
        along, across = _unit(-mid), _unit(-mid + np.pi / 2)
        return radius * along + width / 2 * across

    p, q = edge(inner, c.arm_width_hub), edge(outer, c.arm_width_rim)
    d = (q - p) / np.hypot(*(q - p))
    normal = np.array([-d[1], d[0]])  # into the hole
    if normal @ _unit(0) * 1 < 0 and normal[1] < 0:
        normal = -normal

    def fillet(radius):
        """Centre at distance rho from the edge line and `radius` from the wheel's centre, on the outer branch."""
        base = p + rho * normal
        b, k = base @ d, base @ base - radius**2
        return base + (-b + np.sqrt(b * b - k)) * d

    f_out, f_in = fillet(outer - rho), fillet(inner + rho)
    on_line_in, on_line_out = f_in - rho * normal, f_out - rho * normal
    a_out, a_in = np.arctan2(f_out[1], f_out[0]), np.arctan2(f_in[1], f_in[0])
    away = np.arctan2(-normal[1], -normal[0])

    def turn(a0, a1):
        """a1 brought to the counter-clockwise side of a0, less than a turn away."""
        return a0 + (a1 - a0) % (2 * np.pi)

    corner_in = _arc(f_in, rho, a_in + np.pi, turn(a_in + np.pi, away))
    corner_out = _arc(f_out, rho, away, turn(away, a_out))
    right = np.concatenate([corner_in, np.linspace(on_line_in, on_line_out, 20)[1:-1], corner_out])
    arc_out = _arc((0, 0), outer, a_out, -a_out)[1:-1]
    arc_in = _arc((0, 0), inner, -a_in, a_in)[1:-1]
    hole = np.concatenate([right, arc_out, (right * [1, -1])[::-1], arc_in])
    out = []
    for k in range(c.count):
        a = 2 * np.pi * (k + 0.5) / c.count
        rotation = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
        out.append(hole @ rotation.T)
    return out


def pitch_circle(wheel):
    """Pitch diameter and addendum factor; None for wheels without a module."""
    if wheel.module is None:
        return None
    return wheel.teeth * wheel.module, addendum_factor(wheel.teeth, wheel.leaves)
