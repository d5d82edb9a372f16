"""Plates, cams and pinions of the demo movement, and wheels photographed beside it. All invented.

Both plates carry the arbors of both trains at the centre distances that movement.py gives them, module x (teeth +
leaves) / 2, seen from the front: mm from the middle of the plate, x right, y up. The back plate is photographed from
outside, so its x is turned round. One distance is wrong on purpose: the escape arbor stands 0.15 mm too near to T3.
Worn holes are oval: `oval` is the longest minus the shortest diameter, `oval_angle` the direction of the longest in
the frame of the plate as it is photographed. Numpy only.
"""

from dataclasses import dataclass

import numpy as np

from movement import WHEELS, Crossings, Pins, Wheel, _small
from tooth_profile import _arc
from wheel_outline import Outline, _thin


@dataclass(frozen=True)
class Hole:
    at: tuple[float, float]
    diameter: float
    use: str
    """'pivot', 'pillar' or 'screw'."""
    oval: float = 0.0
    oval_angle: float = 0.0
    bush: float | None = None
    """Outer diameter of a bush let into the plate."""


@dataclass(frozen=True)
class Plate:
    label: str
    words: str
    width: float
    height: float
    thickness: float
    chamfer: float
    holes: tuple[Hole, ...]
    corner: float = 5.0
    finish: str = "brushed"
    seed: int = 0
    kind: str = "plate"


@dataclass(frozen=True)
class EndPinion:
    """A pinion on its end: the mat is pierced for the lower pivot, the upper one points at the camera."""

    label: str
    words: str
    leaves: int
    module: float
    form: str
    """'cut' or 'lantern'."""
    length: float
    arbor_diameter: float
    shoulder: float = 0.8
    """Above the leaves, before the pivot."""
    pivot_diameter: float = 0.9
    pivot_length: float = 2.0
    kind: str = "pinion"

    @property
    def tip_diameter(self):
        """Of a lantern pinion: its cap."""
        pitch = self.leaves * self.module
        return pitch + (1.05 * self.module if self.form == "cut" else 2 * (self.wire_radius + 0.35))

    @property
    def root_diameter(self):
        return (self.leaves - 2.5) * self.module

    @property
    def wire_radius(self):
        return 0.62 * self.module


# Arbors, front view; distances as movement.py wants them but for T3 to T4, which is 0.15 mm short.
_GREAT_T, _CENTRE, _THIRD, _ESCAPE = (-21.0, -34.0), (0.0, -7.771), (-9.0, 16.088), (0.0, 33.803)
_GREAT_S, _PIN, _LOCK, _WARN, _FLY = (22.0, -38.0), (31.0, -3.515), (20.0, 19.512), (28.0, 34.880), (18.0, 43.949)
_PILLARS = ((-41.0, -53.0), (41.0, -53.0), (-41.0, 53.0), (41.0, 53.0))
_SCREWS = ((-33.0, 8.0), (-26.0, 40.0))


def _pivots(*rows):
    return tuple(Hole(at, d, "pivot", oval, angle, bush) for at, d, oval, angle, bush in rows)


def _rest(mirror, pillar, screw):
    return tuple(Hole((mirror * x, y), pillar, "pillar") for x, y in _PILLARS) + tuple(
        Hole((mirror * x, y), screw, "screw") for x, y in _SCREWS
    )


def _turned_round(p):
    return (-p[0], p[1])


PLATES = {
    p.label: p
    for p in (
        Plate("P1", "front plate, seen from outside", 96.0, 120.0, 2.4, 0.10,
              _rest(1, 4.6, 2.6) + _pivots(
                  (_GREAT_T, 3.8, 0.0, 0, None), (_CENTRE, 3.0, 0.15, 62, None), (_THIRD, 1.5, 0.08, 128, None),
                  (_ESCAPE, 1.2, 0.0, 0, None), (_GREAT_S, 3.6, 0.08, 20, None), (_PIN, 2.1, 0.0, 0, None),
                  (_LOCK, 1.6, 0.0, 0, 4.4), (_WARN, 1.3, 0.15, 95, None), (_FLY, 1.1, 0.0, 0, None)),
              seed=31),
        Plate("P2", "back plate, seen from outside", 96.0, 120.0, 2.6, 0.12,
              _rest(-1, 4.6, 2.6) + _pivots(
                  *((_turned_round(at), d, oval, angle, bush) for at, d, oval, angle, bush in (
                      (_GREAT_T, 3.2, 0.15, 150, None), (_CENTRE, 2.2, 0.0, 0, None), (_THIRD, 1.4, 0.15, 40, None),
                      (_ESCAPE, 1.3, 0.08, 80, None), (_GREAT_S, 3.1, 0.0, 0, None), (_PIN, 1.9, 0.08, 170, None),
                      (_LOCK, 1.5, 0.0, 0, None), (_WARN, 1.2, 0.0, 0, 4.0), (_FLY, 1.0, 0.0, 0, None)))),
              seed=32),
    )
}  # fmt: skip


PINIONS = {
    p.label: p
    for p in (
        EndPinion("N6", "pinion of the fly", 6, 0.50, "cut", 5.0, 1.4, pivot_diameter=0.7),
        EndPinion("N7", "pinion of 7 leaves", 7, 0.55, "cut", 5.5, 1.8),
        EndPinion("N8", "pinion of 8 leaves", 8, 0.60, "cut", 6.0, 2.0),
        EndPinion("N10", "pinion of 10 leaves", 10, 0.50, "cut", 6.0, 2.2),
        EndPinion("N12", "pinion of 12 leaves", 12, 0.50, "cut", 6.5, 2.6, pivot_diameter=1.1),
        EndPinion("L8", "lantern pinion of 8 trundles", 8, 0.70, "lantern", 7.0, 2.6, pivot_diameter=1.1),
    )
}

MORE_WHEELS = {
    w.label: w
    for w in (
        Wheel("S5-filled", "count wheel, the notch after seven filled", "count-wheel", 12, 1.4, 0.08, 5.0,
              Crossings(5, 6.0, 2.8, 4.2, 3.4), tip_diameter=44.0, filled=(6,),
              eccentricity=0.010, eccentricity_angle=20, seed=41),
        Wheel("K1", "locking cam with one slot", "locking-cam", 1, 1.3, 0.06, 3.4, None, tip_diameter=15.0,
              slots=(70.0,), seed=42),
        Wheel("K2", "locking cam with two slots", "locking-cam", 2, 1.3, 0.06, 3.4, None, tip_diameter=18.0,
              slots=(20.0, 200.0), seed=43),
        Wheel("S2-two", "wheel with two lifting pins", "wheel", 64, 1.3, 0.08, 4.2, _small(5.0, 3.4),
              module=0.58, leaves=8, pins=Pins(2, 28.6, 1.2, 3.0), eccentricity=0.012, eccentricity_angle=80, seed=44),
        Wheel("S2-three", "wheel with three lifting pins", "wheel", 60, 1.3, 0.08, 4.2, _small(5.0, 3.4),
              module=0.58, leaves=8, pins=Pins(3, 26.4, 1.2, 3.0), eccentricity=0.010, eccentricity_angle=190, seed=45),
        Wheel("E30", "escape wheel of 30 teeth", "escape-wheel", 30, 1.1, 0.03, 3.6, _small(4.6, 2.4, 3.0, 2.2),
              tip_diameter=30.0, eccentricity=0.010, eccentricity_angle=40, seed=46),
        Wheel("E36", "escape wheel of 36 teeth, one bent", "escape-wheel", 36, 1.1, 0.03, 3.6,
              _small(4.6, 2.4, 3.0, 2.2), tip_diameter=33.0, bent=((11, -0.4),),
              eccentricity=0.010, eccentricity_angle=250, seed=47),
        Wheel("E40", "escape wheel of 40 teeth", "escape-wheel", 40, 1.1, 0.03, 3.6, _small(4.6, 2.2, 3.0, 2.2),
              tip_diameter=34.0, eccentricity=0.010, eccentricity_angle=160, seed=48),
    )
}  # fmt: skip


PARTS = {**WHEELS, **MORE_WHEELS, **PLATES, **PINIONS}


def plate_outline(plate: Plate) -> Outline:
    w, h, c = plate.width / 2, plate.height / 2, plate.corner
    corners = ((w - c, h - c, 0), (c - w, h - c, 1), (c - w, c - h, 2), (w - c, c - h, 3))
    outer = np.concatenate([_arc((x, y), c, k * np.pi / 2, (k + 1) * np.pi / 2) for x, y, k in corners])
    holes = [hole_outline(o, o.bush) for o in plate.holes]
    return Outline(_thin(outer), [p[::-1] for p in holes], [], np.zeros(2), 0.0, 0.0)


def hole_outline(hole: Hole, wide=None):
    """Edge of a hole, or round hole of the diameter `wide` at its place; counter-clockwise."""
    p = _arc((0, 0), 1.0, 0, 2 * np.pi)[:-1]
    if wide is not None:
        return p * wide / 2 + hole.at
    a, b, t = hole.diameter / 2 + hole.oval / 4, hole.diameter / 2 - hole.oval / 4, np.radians(hole.oval_angle)
    p = p * [a, b]
    return p @ np.array([[np.cos(t), np.sin(t)], [-np.sin(t), np.cos(t)]]) + hole.at


def bush_outline(hole: Hole) -> Outline:
    """A ring pressed into the plate, a fine joint round it."""
    return Outline(hole_outline(hole, hole.bush - 0.06), [hole_outline(hole)[::-1]], [], np.zeros(2), 0.0, 0.0)
