"""The demo movement: an invented eight-day time-and-strike clock of the American pattern.

Every count and size here was made up for these samples; no existing movement was measured or copied.

Time train   great wheel T1 88 -> 8 T2 78 -> 7 T3 70 -> 7 T4 escape 42
             beats per hour = 2 x 42 x (78/7) x (70/7) = 9360, a pendulum of about 147 mm;
             the great wheel turns once in 88/8 = 11 h: 17.45 turns in eight days.
Strike train great wheel S1 96 -> 12 S2 80 with 10 lifting pins -> 8 S3 56 (locking) -> 7 S4 48 (warning) -> 6 fly
             96/12 x 10 = 80 blows a turn of the great wheel: 1248 blows in eight days take 15.6 turns;
             S3 turns once a blow (80/10 teeth over 8 leaves), S4 eight times, the fly 64 times.
             count wheel, 12 notches over 78 blows, driven 78/10 from the arbor of S2: once in 12 h.
Motion work  cannon pinion 15 -> M1 45 with 12 -> M2 48 (hour wheel): 45/15 x 48/12 = 12.

Lengths in mm, angles in degrees, counter-clockwise seen from the tooth side (from the camera).
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Crossings:
    count: int
    hub_radius: float
    rim_width: float
    """From the root circle inwards."""
    arm_width_hub: float
    arm_width_rim: float
    fillet: float = 0.9


@dataclass(frozen=True)
class Pins:
    count: int
    circle_diameter: float
    diameter: float = 1.2
    height: float = 3.2


@dataclass(frozen=True)
class Pinion:
    leaves: int
    module: float
    kind: str
    """'lantern' or 'cut'."""
    length: float = 7.0
    above: float = 4.0
    """From the wheel's face to the lower end, mm."""


@dataclass(frozen=True)
class Arbor:
    diameter: float
    up: float
    """Length above the face, pivot included."""
    collet_diameter: float
    collet_height: float
    pivot_diameter: float = 0.9
    pivot_length: float = 2.2
    pinion: Pinion | None = None
    cam: bool = False


@dataclass(frozen=True)
class Wheel:
    label: str
    words: str
    kind: str
    """'wheel', 'escape-wheel', 'count-wheel' or 'locking-cam'."""
    teeth: int
    thickness: float
    chamfer: float
    bore: float
    crossings: Crossings | None
    arbor: Arbor | None = None
    module: float | None = None
    leaves: int | None = None
    """Leaves of the pinion that it drives: shapes the epicycloid."""
    tip_diameter: float | None = None
    """Only for escape and count wheels and cams; other wheels have it from their module."""
    filled: tuple[int, ...] = ()
    """Notches of a count wheel that are not open, by number from 0."""
    slots: tuple[float, ...] = ()
    """Of a locking cam: angles."""
    pins: Pins | None = None
    eccentricity: float = 0.0
    eccentricity_angle: float = 0.0
    ovality: float = 0.0
    """Largest minus smallest tip diameter of the second harmonic."""
    ovality_angle: float = 0.0
    missing: tuple[int, ...] = ()
    """Tooth numbers from 0, counter-clockwise."""
    bent: tuple[tuple[int, float], ...] = ()
    """Tooth number, displacement of its tip counter-clockwise."""
    index_error: float = 0.004
    """Standard deviation of the tooth positions along the pitch circle."""
    holes: tuple[tuple[float, float, float], ...] = ()
    """Rivet holes: radius of the place, angle, diameter."""
    finish: str = "brushed"
    seed: int = 0


def _large(hub, rim, w0=4.6, w1=3.4):
    return Crossings(5, hub, rim, w0, w1)


def _small(hub, rim, w0=3.6, w1=2.7):
    return Crossings(4, hub, rim, w0, w1, 0.7)


WHEELS = {
    w.label: w
    for w in (
        Wheel("T1", "time train, great wheel", "wheel", 88, 1.9, 0.12, 6.4,
              Crossings(5, 10.5, 4.2, 6.4, 4.6, 1.2), module=0.70, leaves=8,
              eccentricity=0.015, eccentricity_angle=70, finish="lathe",
              holes=((8.0, 20, 1.7), (8.0, 164, 1.7)), seed=1),
        Wheel("T2", "time train, second arbor (centre wheel)", "wheel", 78, 1.5, 0.10, 5.0,
              _large(6.5, 3.0), Arbor(2.6, 15.0, 8.4, 2.4, pinion=Pinion(8, 0.70, "lantern")),
              module=0.60, leaves=7, eccentricity=0.010, eccentricity_angle=200, seed=2),
        Wheel("T3", "time train, third arbor", "wheel", 70, 1.3, 0.08, 4.2,
              _small(5.2, 2.6), Arbor(2.2, 13.0, 7.0, 2.0, pinion=Pinion(7, 0.60, "lantern")),
              module=0.52, leaves=7, eccentricity=0.012, eccentricity_angle=310,
              ovality=0.16, ovality_angle=25, seed=3),
        Wheel("T4", "time train, fourth arbor (escape wheel)", "escape-wheel", 42, 1.1, 0.03, 3.6,
              _small(4.6, 2.2, 3.0, 2.2), Arbor(1.9, 9.5, 6.2, 1.8, 0.7, 2.0, Pinion(7, 0.52, "lantern", 5.5, 3.0)),
              tip_diameter=34.0, eccentricity=0.008, eccentricity_angle=120, seed=4),
        Wheel("S1", "strike train, great wheel", "wheel", 96, 1.9, 0.12, 6.4,
              Crossings(5, 10.5, 4.2, 6.4, 4.6, 1.2), module=0.66, leaves=12,
              eccentricity=0.018, eccentricity_angle=250, missing=(31, 32), bent=((34, 0.42),),
              finish="lathe", holes=((8.0, 52, 1.7), (8.0, 200, 1.7)), seed=5),
        Wheel("S2", "strike train, second arbor (pin wheel)", "wheel", 80, 1.5, 0.10, 5.0,
              _large(6.5, 4.4), Arbor(2.6, 14.0, 8.4, 2.4, pinion=Pinion(12, 0.66, "cut")),
              module=0.58, leaves=8, pins=Pins(10, 38.6), eccentricity=0.12, eccentricity_angle=35, seed=6),
        Wheel("S3", "strike train, third arbor (locking wheel)", "wheel", 56, 1.3, 0.08, 4.2,
              _small(4.8, 2.4, 3.2, 2.5), Arbor(2.2, 12.0, 7.0, 2.0, pinion=Pinion(8, 0.58, "lantern"), cam=True),
              module=0.55, leaves=7, eccentricity=0.014, eccentricity_angle=15, seed=7),
        Wheel("S4", "strike train, fourth arbor (warning wheel)", "wheel", 48, 1.2, 0.08, 3.6,
              _small(4.0, 2.2, 2.8, 2.2), Arbor(1.9, 11.0, 6.0, 1.8, 0.7, 2.0, Pinion(7, 0.55, "lantern", 5.5, 3.0)),
              module=0.50, leaves=6, pins=Pins(1, 19.0, 1.0, 2.6),
              eccentricity=0.010, eccentricity_angle=95, seed=8),
        Wheel("M1", "motion work, minute wheel", "wheel", 45, 1.2, 0.06, 3.0,
              _small(4.6, 2.4, 3.2, 2.6), module=0.60, leaves=15,
              eccentricity=0.020, eccentricity_angle=140, finish="polished", seed=9),
        Wheel("M2", "motion work, hour wheel", "wheel", 48, 1.2, 0.06, 7.0,
              _small(6.2, 2.6, 3.4, 2.8), module=0.60, leaves=12,
              eccentricity=0.012, eccentricity_angle=280, finish="polished", seed=10),
        Wheel("S5", "count wheel", "count-wheel", 12, 1.4, 0.08, 5.0,
              Crossings(5, 6.0, 2.8, 4.2, 3.4), tip_diameter=46.0,
              eccentricity=0.010, eccentricity_angle=60, seed=11),
    )
}
