"""The sample photographs: which parts lie where, under which light, seen by which camera. Lengths mm, angles deg."""

from dataclasses import dataclass, field

from camera import LENS_A, LENS_A_ZOOM, LENS_B, Lens


@dataclass(frozen=True)
class Place:
    label: str
    at: tuple[float, float]
    turn: float
    """Of the wheel's own x axis, counter-clockwise in the mat frame."""
    under: float = 0.0
    """Height of the lower face above the mat."""
    lean: float = 0.0
    """It rests on its rim and the end of its arbor: by so many degrees,"""
    lean_towards: float = 0.0
    """its rim lowest there."""
    arbor: bool = True
    arbor_up: float | None = None
    """Instead of the movement's own: how far the arbor stands above the face."""
    tag: tuple[float, float, float] | None = None
    """Where its card lies: x, y, turn."""
    card: str | None = None
    """What it says, if not the part's own label."""
    card_width: float = 31.0
    """As cut out; 22 mm keeps the marker and the position."""
    finish: str | None = None


@dataclass(frozen=True)
class Develop:
    """What the camera makes of the light."""

    paper: float = 0.80
    """Linear value of white paper at the middle of the mat, 1 = clipping."""
    white_at: tuple[float, float] | None = None
    """Bare paper, mat frame: what the camera takes for white. Absent: the bright parts of the middle of the picture."""
    white_balance: tuple[float, float] = (1.0, 1.0)
    """Fault of the gains of red and blue."""
    blur_px: float = 0.35
    """Standard deviation, besides the rendering filter and resampling."""
    noise: float = 1.0
    sharpen: float = 0.45
    vignette: float = 0.25
    quality: int = 90


@dataclass(frozen=True)
class Shot:
    name: str
    words: str
    places: tuple[Place, ...]
    size: tuple[int, int] = (3000, 2250)
    lens: Lens = LENS_A
    foot: tuple[float, float] = (0.0, 0.0)
    distance: float = 330.0
    tilt: float = 3.0
    tilt_towards: float = 200.0
    roll: float = 90.0
    light: str = "window"
    mat: str | None = "a4"
    ground: str = "bench"
    clutter: str = ""
    aperture: float = 0.0
    """Diameter of the lens opening, mm; 0 for a pinhole."""
    develop: Develop = field(default_factory=Develop)
    stored_turn: int = 1
    """EXIF orientation of the file."""
    samples: int = 12
    few_samples: int = 4
    """On the mat, where there is no metal."""
    seed: int = 0
    folder: str = "demo-survey"


PRINT_SCALE = (0.9975, 1.0030)
"""Printed over nominal length, across and along the sheet: one printed mat serves all photographs."""

_SIX_MP = (2880, 2160)
_EIGHT_MP = (3264, 2448)
_TWELVE_MP = (4032, 3024)

SHOTS = {
    s.name: s
    for s in (
        Shot("01-centre-wheel", "Single wheel, 78 teeth, five crossings, window light, near the foot point.",
             (Place("T2", (4, 12), 11.3, tag=(44, 44, 4)),),
             size=_SIX_MP, lens=LENS_A_ZOOM, distance=452, tilt=2.5, foot=(3, 5), seed=1),
        Shot("02-tray-both-trains", "Both trains on one mat: eight wheels with their cards; 12 megapixels.",
             (Place("T1", (-37.0, 80.0), 20.0, tag=(-9.0, 43.0, 0), card_width=22),
              Place("S1", (36.0, 79.5), 131.0, tag=(13.2, 40.3, 0), card_width=22),
              Place("T2", (-44.0, 21.0), 77.7, tag=(-7.0, 18.0, -4), card_width=22),
              Place("S2", (45.0, 19.0), 205.0, tag=(8.0, -3.0, 186), card_width=22),
              Place("T3", (-46.0, -25.5), 301.0, tag=(-46.0, -56.0, 3), card_width=22),
              Place("S3", (46.0, -25.0), 12.0, tag=(57.0, -53.0, 0), card_width=22),
              Place("T4", (2.0, -48.0), 158.0, tag=(-8.0, -78.0, -3), card_width=22),
              Place("S4", (30.0, -78.0), 40.0, tag=(57.0, -84.0, 10), card_width=22)),
             size=_TWELVE_MP, lens=LENS_B, distance=288, tilt=4, tilt_towards=110, foot=(-2, 4), seed=2),
        Shot("03-great-wheel-tilted", "Great wheel, 88 teeth, from 20 degrees beside the vertical.",
             (Place("T1", (-8, -10), 47.0, tag=(38, 34, -12)),),
             distance=345, tilt=20, tilt_towards=215, foot=(0, -6), light="overcast", aperture=0.9,
             develop=Develop(white_balance=(1.05, 0.93)), seed=3),
        Shot("04-pin-wheel-eccentric", "Pin wheel off its arbor: tooth circle 0.12 mm beside the bore.",
             (Place("S2", (-6, 8), 63.0, arbor=False, tag=(34, -30, 20)),),
             size=_EIGHT_MP, lens=LENS_A_ZOOM, distance=470, tilt=1.5, tilt_towards=20, foot=(-2, 3), light="overcast",
             roll=88, seed=4),
        Shot("05-third-wheel-oval", "Third wheel, 70 teeth, four crossings, oval by 0.16 mm, under a desk lamp.",
             (Place("T3", (12, -14), 140.0, tag=(-26, -30, 0)),),
             size=_SIX_MP, lens=LENS_A_ZOOM, distance=448, tilt=4, tilt_towards=330, foot=(6, -4), light="desk-lamp",
             roll=-91, develop=Develop(white_balance=(1.04, 0.90)), seed=5),
        Shot("06-broken-teeth", "Strike great wheel, 96 teeth: two missing side by side, one bent.",
             (Place("S1", (5, 20), 289.0, tag=(-45, -30, 90)),),
             size=_EIGHT_MP, lens=LENS_A_ZOOM, distance=455, tilt=5, tilt_towards=60, foot=(0, 8), seed=6),
        Shot("07-tall-arbor", "Centre wheel with 40 mm of arbor standing up towards the camera.",
             (Place("T2", (30, 34), 200.0, arbor_up=40.0, tag=(-22, 30, 8)),),
             lens=LENS_B, distance=335, tilt=6, tilt_towards=250, foot=(4, 0), aperture=1.2, roll=91, seed=7),
        Shot("08-harsh-flash", "Pin wheel on its arbor, flash beside the lens in a dim room.",
             (Place("S2", (-14, -24), 16.0, tag=(28, -40, -15)),),
             distance=322, tilt=4, tilt_towards=80, foot=(2, -5), light="flash", roll=86,
             develop=Develop(paper=0.92, white_balance=(0.96, 1.06), vignette=0.35), seed=8),
        Shot("09-hard-shadow", "Third and locking wheel in direct sun: long hard shadows.",
             (Place("T3", (-28, 30), 33.0, tag=(24, 52, 0)), Place("S3", (24, -30), 75.0, tag=(-18, -50, 5))),
             lens=LENS_A_ZOOM, distance=460, tilt=5, tilt_towards=150, foot=(0, 0), light="sun", roll=90,
             develop=Develop(paper=0.86), seed=9),
        Shot("10-patina", "Locking and warning wheel before cleaning: brown and spotted brass.",
             (Place("S3", (-22, 22), 121.0, tag=(20, 40, 0), finish="patina"),
              Place("S4", (20, -22), 254.0, tag=(-20, -38, 0), finish="patina")),
             size=_SIX_MP, lens=LENS_A_ZOOM, distance=450, tilt=3.5, tilt_towards=280, foot=(-3, 2), seed=10),
        Shot("11-mat-partly-covered", "Great wheel; a rag and a screwdriver cover much of the marker ring.",
             (Place("T1", (-22, 26), 255.0, tag=(-30, -24, 0)),),
             lens=LENS_B, distance=322, tilt=7, tilt_towards=10, foot=(5, 2), clutter="rag", roll=93, seed=11),
        Shot("12-far-from-foot-point", "Centre wheel in a corner of the field, 130 mm from the foot point.",
             (Place("T2", (43, 84), 330.0, tag=(2, 66, 0)),),
             size=_SIX_MP, distance=352, tilt=9, tilt_towards=225, foot=(8, 14), light="overcast", seed=12),
        Shot("13-paper-without-mat", "Locking wheel and minute wheel on plain paper, no mat.",
             (Place("S3", (-24, 10), 10.0, arbor=False), Place("M1", (20, -8), 81.0)),
             lens=LENS_A_ZOOM, distance=330, tilt=3, tilt_towards=30, mat=None, ground="paper", roll=0, seed=13, folder="other-cases"),
        Shot("14-cloth-without-mat", "Centre wheel on a woven cloth, no mat.",
             (Place("T2", (6, -4), 154.0, arbor=False),),
             distance=230, tilt=5, tilt_towards=140, mat=None, ground="cloth", roll=0, seed=14, folder="other-cases",
             develop=Develop(paper=0.42)),
        Shot("15-escape-wheel-upright", "Escape wheel, 42 teeth; upright picture, stored lying with EXIF orientation 6.",
             (Place("T4", (-10, 18), 66.0, tag=(26, -14, 0)),),
             size=(2160, 2880), lens=LENS_A_ZOOM, distance=449, tilt=3, tilt_towards=100, foot=(2, 6), roll=1.5,
             stored_turn=6, seed=15),
        Shot("16-raised-face", "Locking wheel standing on its collet: face 6.3 mm above the mat.",
             (Place("S3", (-30, -28), 222.0, under=5.0, tag=(8, -50, 0)),),
             lens=LENS_B, distance=312, tilt=5, tilt_towards=300, foot=(4, 4), light="overcast", seed=16, folder="other-cases"),
        Shot("25-on-its-arbor", "Third wheel as it lies by itself: on its rim and the end of its arbor, leaning by 14 degrees.",
             (Place("T3", (-16, 22), 64.0, lean=14.0, lean_towards=245.0, tag=(24, 40, 0)),),
             lens=LENS_B, distance=300, tilt=5, tilt_towards=20, foot=(2, 6), light="window", roll=88, seed=25,
             folder="other-cases"),
        Shot("17-motion-work-and-count-wheel", "Minute wheel, hour wheel and count wheel on a US Letter mat.",
             (Place("M1", (-30, 52), 5.0, tag=(4, 72, 0)), Place("M2", (-34, -44), 98.0, tag=(2, -62, 0)),
              Place("S5", (28, 10), 37.0, tag=(-22, 4, 0))),
             lens=LENS_A_ZOOM, distance=458, tilt=4, tilt_towards=190, foot=(0, 4), mat="letter", light="desk-lamp",
             roll=-90, seed=17),
        Shot("18-dim-and-soft", "Great wheel in dim light: noisy and a little out of focus.",
             (Place("T1", (10, -24), 8.0, tag=(-34, 16, 0)),),
             distance=330, tilt=6, tilt_towards=40, foot=(0, 0), roll=90,
             develop=Develop(paper=0.62, white_balance=(1.10, 0.84), blur_px=0.95, noise=3.2, sharpen=0.6, quality=85), seed=18),
        Shot("19-front-plate", "Front plate from outside: worn holes, one bush.",
             (Place("P1", (-14, 4), 1.5, tag=(52, 60, 90), card_width=22),),
             size=_EIGHT_MP, lens=LENS_A_ZOOM, distance=445, tilt=3, tilt_towards=60, foot=(-6, 6), light="overcast",
             develop=Develop(white_at=(52, 10)), samples=14, few_samples=2, seed=19, folder="movement-parts"),
        Shot("20-back-plate", "Back plate of the same movement from outside, under the window.",
             (Place("P2", (-13, -3), 358.0, tag=(53, -58, 90), card_width=22),),
             size=_EIGHT_MP, lens=LENS_A_ZOOM, distance=450, tilt=4, tilt_towards=150, foot=(-4, 2),
             develop=Develop(white_at=(54, 10)), samples=14, few_samples=2, seed=20, folder="movement-parts"),
        Shot("21-count-wheels", "Two count wheels: one whole, one whose notch after seven is filled.",
             (Place("S5", (-30, 36), 77.0, tag=(18, 56, 0), card_width=22), Place("S5-filled", (24, -26), 143.0)),
             lens=LENS_A_ZOOM, distance=452, tilt=4, tilt_towards=300, foot=(2, 2), few_samples=2, seed=21, folder="movement-parts"),
        Shot("22-cams-and-lifting-pins", "Two locking cams, and wheels with two and with three lifting pins.",
             (Place("K1", (-34, 58), 0.0), Place("K2", (30, 54), 33.0), Place("S2-two", (-34, -6), 15.0),
              Place("S2-three", (26, -40), 200.0)),
             lens=LENS_A_ZOOM, distance=452, tilt=5, tilt_towards=20, foot=(0, 4), light="overcast", few_samples=2, seed=22,
             folder="movement-parts"),
        Shot("23-pinions-on-end", "Five pinions of 6 to 12 leaves and a lantern pinion, on their end, from close.",
             (Place("N6", (26, 94), 10.0), Place("N7", (54, 92), 25.0), Place("N8", (24, 66), 3.0),
              Place("N10", (52, 64), 14.0), Place("N12", (26, 38), 7.0), Place("L8", (52, 36), 20.0)),
             lens=LENS_A_ZOOM, distance=290, tilt=3, tilt_towards=250, foot=(44, 66), light="overcast", samples=16,
             seed=23, folder="movement-parts"),
        Shot("24-escape-wheels", "Escape wheels of 30, 36 and 40 teeth; of the second one tooth is bent.",
             (Place("E30", (-32, 44), 50.0), Place("E36", (28, 34), 120.0), Place("E40", (-14, -34), 210.0)),
             lens=LENS_A_ZOOM, distance=452, tilt=3, tilt_towards=100, foot=(2, 6), few_samples=2, seed=24, folder="movement-parts"),
    )
}  # fmt: skip
