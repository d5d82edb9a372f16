"""Random scenes for training: what lies where, of what, under which light. Millimetres, table at z = 0.

`pack_scene(seed, held_back, wide)` gives the flat arrays that render.cu reads (their layout is written down there).
Everything depends on these three alone. `held_back` scenes use materials and surfaces that training never shows;
`wide` scenes, for training only, spread colours, stains and surfaces further than any workshop.
"""

import json
import math
import os

import numpy as np

SCENE_F, PART_F, MAX_PARTS, TABLE_F = 192, 64, 28, 4096
MARKERS_MAX, BOXES_MAX, PROFILE_N = 64, 40, 24
WHEEL, DISC, PLATE, STRIP, SPIRAL, ROD, RING, ELLIPSOID = range(8)
MATT, TURNED, BRUSHED, POLISHED, PAINT, SKIN, CARD = range(7)
BACKGROUND, METAL, STEEL = 0, 1, 2
SIZE = 640

# Roughly what metals and surfaces reflect, linear; invented, spread widely.
METALS = {
    "brass": ((0.80, 0.58, 0.24), (0.10, 0.10, 0.08)),
    "dull-brass": ((0.52, 0.38, 0.17), (0.10, 0.08, 0.05)),
    "patina": ((0.27, 0.19, 0.095), (0.10, 0.08, 0.05)),
    "dark-patina": ((0.13, 0.10, 0.065), (0.05, 0.05, 0.03)),
    "gilded": ((0.92, 0.70, 0.30), (0.05, 0.06, 0.08)),
    "steel": ((0.48, 0.49, 0.50), (0.05, 0.05, 0.05)),
    "dark-steel": ((0.20, 0.20, 0.21), (0.04, 0.04, 0.04)),
    "blued": ((0.08, 0.11, 0.24), (0.03, 0.03, 0.08)),
    "nickel": ((0.62, 0.60, 0.55), (0.05, 0.05, 0.05)),
    "copper": ((0.72, 0.40, 0.25), (0.06, 0.05, 0.05)),
    # never seen in training
    "bronze": ((0.40, 0.22, 0.13), (0.07, 0.04, 0.03)),
    "gunmetal": ((0.30, 0.31, 0.27), (0.06, 0.05, 0.05)),
    "silvered": ((0.78, 0.77, 0.72), (0.05, 0.05, 0.05)),
    "pale-brass": ((0.70, 0.62, 0.40), (0.06, 0.06, 0.06)),
}
WHEEL_METALS = [("brass", 0.36), ("dull-brass", 0.19), ("patina", 0.13), ("dark-patina", 0.05), ("gilded", 0.04),
                ("steel", 0.11), ("dark-steel", 0.04), ("nickel", 0.04), ("copper", 0.03), ("blued", 0.01)]
HELD_METALS = [("bronze", 0.3), ("gunmetal", 0.2), ("silvered", 0.15), ("pale-brass", 0.35)]
STAINS = [(0.05, 0.035, 0.02), (0.10, 0.07, 0.04), (0.03, 0.03, 0.03), (0.14, 0.09, 0.04)]
HELD_STAINS = [(0.08, 0.16, 0.11), (0.16, 0.07, 0.04)]  # verdigris, rust

MAT_FLOATS = 8 + MARKERS_MAX * 66 + BOXES_MAX * 5


def mat_table():
    """The printed sheets as render.cu wants them, from mat-layout.json."""
    with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "mat-layout.json")) as f:
        papers = json.load(f)
    table = np.zeros((len(papers), MAT_FLOATS), np.float32)
    for row, p in zip(table, papers):
        row[:7] = [*p["sizeMm"], p["markerSizeMm"], len(p["markers"]), len(p["boxes"]), *p["fieldHalfMm"]]
        for i, m in enumerate(p["markers"]):
            at = 8 + 66 * i
            row[at : at + 2] = m["centreMm"]
            row[at + 2 : at + 66] = [int(c) for line in m["rows"] for c in line]
        for i, b in enumerate(p["boxes"]):
            at = 8 + 66 * MARKERS_MAX + 5 * i
            row[at : at + 5] = [*b[:4], b[4] / 255]
    return table


def turn_z(a):
    c, s = math.cos(a), math.sin(a)
    return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]])


def lean(angle, towards):
    """Tips the z axis by `angle` towards direction `towards`."""
    c, s = math.cos(angle), math.sin(angle)
    about = np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]])
    return turn_z(towards) @ about @ turn_z(-towards)


def lying(direction):
    """Rotation that lays the body's x axis along `direction` on the table."""
    return turn_z(direction)


UPRIGHT_TO_X = np.array([[0, 0, 1.0], [0, 1, 0], [-1, 0, 0]])  # the body's z axis goes along x


class Scene:
    def __init__(self, seed, held_back=False, wide=False):
        self.rng = np.random.default_rng(seed)
        self.held, self.wide = held_back, wide
        self.pitches_mm = (1.0, 6.5)
        self.s = np.zeros(SCENE_F, np.float32)
        self.parts = []
        self.table = np.zeros(TABLE_F, np.float32)
        self.used = 0
        self.s[13] = seed % 1000003

    # -- small help --
    def u(self, a, b):
        return float(self.rng.uniform(a, b))

    def log(self, a, b):
        return float(math.exp(self.rng.uniform(math.log(a), math.log(b))))

    def chance(self, p):
        return bool(self.rng.random() < p)

    def whole(self, a, b):
        return int(self.rng.integers(a, b + 1))

    def pick(self, items):
        return items[int(self.rng.integers(len(items)))]

    def weighted(self, pairs):
        w = np.array([p for _, p in pairs])
        return pairs[int(self.rng.choice(len(pairs), p=w / w.sum()))][0]

    def store(self, values):
        n = len(values)
        if self.used + n > TABLE_F:
            return None
        at = self.used
        self.table[at : at + n] = values
        self.used += n
        return at

    def metal_look(self, metal=None):
        metal = metal or self.weighted(HELD_METALS if self.held else WHEEL_METALS)
        base, spread = METALS[metal]
        colour = np.clip(np.array(base) + np.array(spread) * self.rng.normal(0, 0.5, 3), 0.02, 0.97)
        if self.wide and self.chance(0.3):
            # No metal there is: any lightness, mostly a warm or a cold tint, at times any at all.
            tint = self.rng.normal(0.15, 0.3) * np.array([1, 0.2, -1]) + self.rng.normal(0, 0.25 if self.chance(0.15) else 0.05, 3)
            colour = np.clip(self.log(0.07, 0.9) * np.exp(tint), 0.02, 0.97)
        finish = self.pick([TURNED, TURNED, BRUSHED, MATT, MATT, POLISHED])
        dirty = "patina" in metal or metal in ("bronze", "gunmetal")
        rough, kd = {
            TURNED: (self.u(0.08, 0.25), self.u(0.2, 0.55)),
            BRUSHED: (self.u(0.08, 0.25), self.u(0.2, 0.55)),
            MATT: (self.u(0.25, 0.5), self.u(0.45, 0.9)),
            POLISHED: (self.u(0.02, 0.1), self.u(0.02, 0.2)),
        }[finish]
        if dirty:
            rough, kd = rough + 0.15, min(0.95, kd + 0.3)
        mottle = self.u(0.2, 0.9) if dirty else (self.u(0.0, 0.5) if self.chance(0.5) else 0.0)
        stain = np.array(self.pick(HELD_STAINS if self.held else STAINS)) * self.u(0.7, 1.4)
        if self.wide and self.chance(0.3):
            stain = self.any_colour(0.03, 0.5)
            mottle = max(mottle, self.u(0, 0.9))
        return dict(
            colour=colour, rough=rough, kd=kd, finish=finish, mottle=mottle, mottle_colour=stain,
            mottle_scale=self.log(1.2, 14), scratch=self.u(0, 1) if self.chance(0.4) else 0.0,
            engrave=self.u(0.1, 0.8) if self.chance(0.1) else 0.0, groove=self.u(0.03, 0.3),
        )

    def steel_look(self):
        look = self.metal_look(self.pick(["steel", "steel", "dark-steel", "nickel", "blued"] if not self.held
                                         else ["steel", "gunmetal"]))
        look["mottle"] *= 0.6
        look["engrave"] = 0.0
        return look

    def plain_look(self, colour, finish=PAINT, rough=0.3):
        # Painted things carry patterns as often as not.
        patterned = finish == PAINT and self.chance(0.5)
        return dict(colour=np.array(colour), rough=rough, kd=1.0, finish=finish, mottle=0.0 if patterned else self.u(0, 0.3),
                    mottle_colour=self.any_colour() if patterned else np.array(colour) * 0.6, mottle_scale=self.log(1, 10),
                    scratch=self.u(0.2, 1) if patterned else 0, engrave=0, groove=0.05)

    def any_colour(self, low=0.02, high=0.85):
        grey = self.log(low + 1e-3, high)
        return np.clip(grey * np.exp(self.rng.normal(0, self.u(0.02, 0.5), 3)), 0.01, 0.95)

    def add(self, shape, radius, z0, z1, origin, rotation, cls, look, bevel=0.0, hole=0.0, **named):
        if len(self.parts) >= MAX_PARTS:
            return None
        p = np.zeros(PART_F, np.float32)
        p[0:4] = [shape, radius, z0, z1]
        p[4:7] = origin
        p[7:16] = np.asarray(rotation).reshape(9)
        p[16], p[17] = cls, hole
        slots = dict(n=18, tip=19, root=20, bore=21, rim=22, hub=23, arm_hub=24, arm_rim=25, fillet=26, curve=27,
                     arms=28, phase=29, profile=30, teeth=31, web=32, half_x=53, half_y=54, holes=55, hole_count=56,
                     thread=57, pitch=48)
        p[33:36] = look["colour"]
        p[36:39] = [look["rough"], look["finish"], look["mottle"]]
        p[39:42] = look["mottle_colour"]
        p[42:45] = [look["mottle_scale"], look["scratch"], look["engrave"]]
        p[45] = self.whole(0, 100000)
        p[46], p[47], p[48] = bevel, look["kd"], look["groove"]
        for name, value in named.items():
            p[slots[name]] = value
        middle = np.asarray(origin) + np.asarray(rotation) @ np.array([0, 0, (z0 + z1) / 2])
        p[49] = math.hypot(radius, (z1 - z0) / 2) + 0.05
        p[50:53] = middle
        self.parts.append(p)
        return p

    # -- wheels --
    def profile(self, form):
        """Flanks of a tooth from root to tip, in pitches from its middle: left and right."""
        t = np.linspace(0, 1, PROFILE_N)
        if form == "cycloidal":
            w0, shape = self.u(0.2, 0.31), self.u(1.5, 3.5)
            knee = self.u(0.3, 0.6)
            h = np.where(t < knee, w0, w0 * np.clip(1 - np.clip((t - knee) / (1 - knee), 0, 1) ** shape, 0, 1) ** self.u(0.6, 1.0))
            h += 0.08 * np.exp(-t / 0.08)
        elif form == "involute":
            w0, w1 = self.u(0.32, 0.4), self.u(0.08, 0.2)
            h = w0 + (w1 - w0) * t ** self.u(0.9, 1.6)
        elif form == "square":
            h = np.full_like(t, self.u(0.18, 0.35))
        elif form == "pinion":
            w = self.u(0.16, 0.3)
            knee = self.u(0.5, 0.75)
            h = np.where(t < knee, w * (0.8 + 0.2 * t / knee), w * np.sqrt(np.clip(1 - ((t - knee) / (1 - knee)) ** 2, 0, 1)))
        elif form == "full":
            h = np.full_like(t, 0.5)
        else:  # saw-like: ratchet and escape
            back, steep = self.u(0.5, 0.93), self.u(-0.12, 0.15)
            land, bow = self.u(0.01, 0.09), self.u(-0.1, 0.7)
            rise = t - bow * t * (1 - t)
            left = -back * (1 - rise) - land / 2 + 0.35
            right = steep * (1 - t) * (-1) + land / 2 + 0.35
            left, right = np.minimum(left, right), right
            if self.chance(0.5):
                left, right = -right, -left
            return np.concatenate([left, right])
        return np.concatenate([-h, h])

    def wheel_shape(self, tip, form=None, thick=None):
        """Parameters of a wheel of tip radius `tip`, mm; None if the tables are full."""
        form = form or self.weighted([("cycloidal", 0.5), ("involute", 0.14), ("saw", 0.2), ("square", 0.04), ("full", 0.05), ("pinion", 0.07)])
        if form == "full":
            n = 78
        else:
            pitch_mm = self.log(*self.pitches_mm) if form != "pinion" else self.log(2, 6)
            n = int(np.clip(round(2 * math.pi * tip / pitch_mm), 6, 144))
        pitch = 2 * math.pi * tip / n
        depth = pitch * {"cycloidal": self.u(0.55, 0.95), "involute": self.u(0.55, 0.8), "saw": self.u(0.4, 1.2),
                         "square": self.u(0.5, 1), "full": self.u(0.6, 2.2), "pinion": self.u(0.7, 1.1)}[form]
        depth = min(depth, 0.4 * tip)
        root = tip - depth
        teeth = np.zeros((n, 2))
        teeth[:, 0] = 1.0
        teeth[:, 1] = self.rng.normal(0, 0.008, n)
        if form == "full":
            at = self.whole(0, n - 1)
            for blows in range(1, 13):
                at = (at + blows) % n
                teeth[at, 0] = -1
        elif self.chance(0.25):
            for _ in range(self.whole(1, 3)):
                k = self.whole(0, n - 1)
                what = self.pick(["gone", "stump", "bent", "run"])
                if what == "gone":
                    teeth[k, 0] = self.u(-0.1, 0.1)
                elif what == "stump":
                    teeth[k, 0] = self.u(0.2, 0.7)
                elif what == "bent":
                    teeth[k, 1] = self.u(0.1, 0.5) * self.pick([-1, 1])
                else:
                    for j in range(self.whole(2, 5)):
                        teeth[(k + j) % n, 0] = self.u(-0.1, 0.2)
        profile = self.store(self.profile(form))
        rows = self.store(teeth.reshape(-1))
        if profile is None or rows is None:
            return None
        bore = (self.log(0.04, 0.2) if self.chance(0.82) else self.log(0.2, 0.7)) * root
        shape = dict(n=n, tip=tip, root=root, bore=bore, phase=self.u(0, 6.28), profile=profile, teeth=rows)
        if root > 5 and self.chance(0.78):
            rim = root - max(0.5, self.u(0.06, 0.2) * root)
            hub = max(self.u(0.15, 0.36) * root, min(1.15 * bore, 0.8 * rim))
            if self.chance(0.9):
                arm = self.u(0.035, 0.08) * root
                shape.update(web=1, arms=self.weighted([(3, 0.1), (4, 0.4), (5, 0.3), (6, 0.18), (7, 0.02)]), rim=rim, hub=hub,
                             arm_hub=arm * self.u(1, 1.7), arm_rim=arm * self.u(0.6, 1.1),
                             fillet=self.u(0.02, 0.4) * (rim - hub) * 0.5 + 0.02,
                             curve=self.u(-1.0, 1.0) if self.chance(0.08) else 0.0)
            else:
                arms = self.whole(3, 8)
                c = (rim + hub) / 2
                shape.update(web=2, arms=arms, rim=rim, hub=hub, curve=0,
                             arm_hub=self.u(0.3, 0.9) * min((rim - hub) / 2, c * math.sin(math.pi / arms)))
            shape["bore"] = min(shape["bore"], 0.8 * hub)
        return shape

    def wheel(self, tip, at, z=0.0, tilt=None, arbor=None, look=None, thick=None):
        shape = self.wheel_shape(tip)
        if shape is None:
            return
        look = look or self.metal_look()
        drum = self.chance(0.05)
        thick = thick or (self.u(5, 14) if drum else self.log(0.5, 3.2))
        if tilt is None:
            tilt = abs(self.rng.normal(0, 0.01)) if self.chance(0.8) else self.u(0.02, 0.35)
        rotation = lean(tilt, self.u(0, 6.28))
        z = z + tip * math.sin(tilt)
        origin = np.array([at[0], at[1], z])
        bevel = self.u(0.03, 0.2)
        self.add(WHEEL, tip, 0, thick, origin, rotation, METAL, look, bevel, hole=0.999 * shape["root"], **shape)
        bore, hub = shape["bore"], shape.get("hub", 0.4 * shape["root"])
        top = thick
        if drum:
            self.add(DISC, shape["root"] * 0.93, top, top + self.u(0.5, 1), origin, rotation, METAL, look, bevel,
                     tip=shape["root"] * 0.93, bore=bore, n=0)
            top += 1
        if self.chance(0.3):  # collet or boss
            high = self.u(0.4, 3)
            self.add(DISC, hub, top, top + high, origin, rotation, METAL, self.metal_look("brass") if not self.held else look,
                     bevel, tip=max(bore * 1.15, hub * self.u(0.4, 0.85)), bore=bore, n=0)
        if arbor is None:
            arbor = bore < 6 and self.chance(0.5)
        if arbor:
            self.arbor(origin, rotation @ lean(abs(self.rng.normal(0, 0.02)), self.u(0, 6.28)), bore, thick, z, tip)
        elif bore < 4 and self.chance(0.08):  # a squared or cut arbor end
            self.add(DISC, bore * 1.6, top, top + self.u(0.3, 5), origin, rotation, STEEL, self.steel_look(), 0.1,
                     tip=bore * 1.4, bore=0, n=4)
        if self.chance(0.12):  # lifting pins
            count, ring = self.whole(1, 10), (shape.get("rim", 0.8 * shape["root"]) + shape["root"]) / 2
            rad = min(0.3 * (shape["root"] - shape.get("rim", 0.7 * shape["root"])) + 0.15, 1.0)
            pin = self.steel_look()
            first = self.u(0, 6.28)
            for k in range(count):
                a = first + 2 * math.pi * k / count
                local = np.array([ring * math.cos(a), ring * math.sin(a), 0])
                self.add(DISC, rad, thick, thick + self.u(1.5, 5), origin + rotation @ local, rotation, STEEL, pin, 0.05, tip=rad, bore=0, n=0)

    def arbor(self, origin, rotation, bore, thick, z, tip):
        look = self.steel_look()
        up = self.log(2, 45)
        rad = min(bore * self.u(0.8, 1.0) + 0.05, 6)
        self.add(DISC, rad, -z - 0.5 if z > 1 else 0, thick + up, origin, rotation, STEEL, look, 0.1, tip=rad, bore=0, n=0)
        if self.chance(0.6):
            piv = rad * self.u(0.25, 0.7)
            self.add(DISC, piv, thick + up, thick + up + self.u(0.5, 4), origin, rotation, STEEL, look, 0.05, tip=piv, bore=0, n=0)
        if self.chance(0.55) and up > 4:
            leaves = min(tip * 0.5, rad * self.u(1.5, 3))
            shape = self.wheel_shape(leaves, "pinion")
            if shape is not None:
                shape.update(web=0, bore=0)
                lo = thick + up * self.u(0.05, 0.5)
                self.add(WHEEL, leaves, lo, lo + up * self.u(0.2, 0.45), origin, rotation, STEEL, look, 0.08, **shape)

    def standing_pinion(self, at):
        shape = self.wheel_shape(self.log(1.5, 7), "pinion")
        if shape is None:
            return
        shape.update(web=0, bore=0)
        look, r, h = self.steel_look(), lean(abs(self.rng.normal(0, 0.02)), self.u(0, 6.28)), self.u(2, 10)
        o = np.array([*at, 0.0])
        self.add(WHEEL, shape["tip"], 0, h, o, r, STEEL, look, 0.1, **shape)
        rad = shape["root"] * self.u(0.4, 0.9)
        self.add(DISC, rad, h, h + self.u(1, 15), o, r, STEEL, look, 0.1, tip=rad, bore=0, n=0)

    def lying_arbor(self, at):
        """An arbor on its side, with its pinion; sometimes its wheel, propped on its rim."""
        look, direction = self.steel_look(), self.u(0, 6.28)
        rad, half = self.log(0.6, 2.5), self.log(6, 28)
        tip = rad * self.u(1.4, 2.8)
        r = lying(direction)
        o = np.array([at[0], at[1], tip])
        self.add(ROD, math.hypot(half, rad), -rad, rad, o, r, STEEL, look, half_x=half, half_y=rad, arm_rim=rad * self.u(0.5, 1.0))
        shape = self.wheel_shape(tip, "pinion")
        if shape is not None:
            shape.update(web=0, bore=0)
            x = half * self.u(-0.7, 0.2)
            self.add(WHEEL, tip, x, x + half * self.u(0.2, 0.5), o, r @ UPRIGHT_TO_X, STEEL, look, 0.05, **shape)

    def plate(self, at, half_x, half_y, z=0.0):
        holes = []
        for _ in range(self.whole(2, 14)):
            rad = self.log(0.5, 4)
            holes.append([self.u(-0.85, 0.85) * half_x, self.u(-0.85, 0.85) * half_y, rad, 1.0])
        if self.chance(0.35):
            for _ in range(self.whole(1, 3)):
                holes.append([self.u(-0.6, 0.6) * half_x, self.u(-0.6, 0.6) * half_y, self.u(0.1, 0.35) * half_x, -self.u(0.1, 0.35) * half_y])
        rows = self.store(np.array(holes).reshape(-1))
        if rows is None:
            return
        # Plates are of brass; a blank mirror of a plate cannot be told from paper.
        look = self.metal_look(None if self.held else self.pick(["brass", "brass", "dull-brass", "dull-brass", "patina", "dark-patina", "gilded", "steel"]))
        look["kd"], look["rough"] = max(look["kd"], 0.2), max(look["rough"], 0.1)
        corner = self.u(0.3, 0.6) * min(half_x, half_y) if self.chance(0.3) else self.u(0.2, 4)
        self.add(PLATE, math.hypot(half_x, half_y), 0, self.u(1, 4), [*at, z], turn_z(self.u(0, 6.28)), METAL, look,
                 self.u(0.03, 0.2), hole=-1, half_x=half_x, half_y=half_y, fillet=corner, holes=rows, hole_count=len(holes))

    # -- everything that is no part of a clock --
    def distractor(self, at, mm):
        """`mm`: width of the view, so that things are neither specks nor larger than the picture."""
        kind = self.weighted([("coin", 2), ("washer", 2), ("nut", 1), ("screw-head", 1.5), ("screw", 2.5), ("spring", 1.5),
                              ("strip", 1.5), ("finger", 1.5), ("hand", 1), ("tool", 1.5), ("tag", 1), ("card", 1), ("wire", 1), ("lump", 1), ("lid", 0.7)])
        look = self.metal_look(None if self.held else self.pick(["brass", "steel", "dark-steel", "nickel", "copper", "blued", "dull-brass"]))
        look["engrave"] = 0.0
        r, a = turn_z(self.u(0, 6.28)), [at[0], at[1], 0.0]
        if kind in ("coin", "washer", "nut", "screw-head", "lid"):
            rad = {"coin": self.u(7, 15), "washer": self.u(2.5, 13), "nut": self.u(2, 7), "screw-head": self.u(1.5, 6), "lid": self.u(15, 40)}[kind]
            high = {"coin": self.u(1, 2.3), "washer": self.u(0.4, 2), "nut": self.u(1.5, 6), "screw-head": self.u(1, 3), "lid": self.u(2, 20)}[kind]
            if kind == "coin":
                look["engrave"] = self.u(0.4, 1)
            if kind == "lid":
                look = self.plain_look(self.any_colour()) if self.chance(0.7) else look
            bore = rad * self.u(0.3, 0.75) if kind in ("washer", "nut") else 0
            self.add(DISC, rad, 0, high, a, r, BACKGROUND, look, self.u(0.05, 0.4), tip=rad, bore=bore, n=6 if kind == "nut" else 0)
            if kind == "screw-head":
                slot = dict(look, colour=look["colour"] * 0.15, kd=1.0)
                self.add(STRIP, rad, high, high + 0.05, a, r, BACKGROUND, slot, half_x=rad * 0.95, half_y=rad * 0.13, arm_rim=rad * 0.13)
        elif kind == "screw":
            half, rad = self.log(3, 16), self.u(0.7, 2.6)
            a[2] = rad * 1.6
            self.add(ROD, math.hypot(half, rad), -rad, rad, a, r, BACKGROUND, look, half_x=half, half_y=rad, arm_rim=rad * self.u(0.4, 1), thread=self.u(0.4, 1.1))
            if self.chance(0.8):
                head = rad * self.u(1.5, 2.2)
                self.add(DISC, head, -half - head * 0.8, -half, a, r @ UPRIGHT_TO_X, BACKGROUND, look, 0.1, tip=head, bore=0, n=self.pick([0, 0, 0, 6]))
        elif kind == "spring":
            if self.chance(0.5):
                tip, pitch = self.log(4, 22), self.log(0.6, 3)
                dark = self.metal_look("blued" if self.chance(0.5) and not self.held else None)
                self.add(SPIRAL, tip, 0, self.u(0.5, 8), a, r, BACKGROUND, dict(dark, groove=0.05), tip=tip, bore=tip * self.u(0.1, 0.6), arm_rim=self.u(0.15, 0.6), pitch=pitch)
            else:
                half, rad = self.log(5, 22), self.u(1.2, 4)
                a[2] = rad
                self.add(ROD, math.hypot(half, rad), -rad, rad, a, r, BACKGROUND, look, half_x=half, half_y=rad, arm_rim=rad, thread=self.u(0.8, 2.5))
        elif kind == "strip" or kind == "hand":
            half = self.log(8, 40)
            if kind == "hand":
                look = self.metal_look("blued" if not self.held else None)
            w = self.u(0.5, 7)
            self.add(STRIP, half * 1.3 + w, 0, self.u(0.3, 3), a, r, BACKGROUND, look, self.u(0.02, 0.2), half_x=half, half_y=w, arm_rim=w * self.u(0.2, 1), curve=self.u(-0.2, 0.2) if self.chance(0.3) else 0)
        elif kind == "finger":
            # One to three fingers reaching in from the side.
            tone = np.array([0.50, 0.28, 0.19]) * self.log(0.15, 1.4) * np.exp(self.rng.normal(0, 0.08, 3))
            skin = self.plain_look(tone, SKIN)
            side = math.atan2(at[1], at[0]) + self.rng.normal(0, 0.5)
            for k in range(self.whole(1, 3)):
                rad, half = self.u(5.5, 9.5), self.u(25, 60)
                across = 17.0 * k
                o = [at[0] + half * math.cos(side) - across * math.sin(side), at[1] + half * math.sin(side) + across * math.cos(side), rad * self.u(0.8, 1.6)]
                self.add(ROD, half + 2 * rad, -rad, rad, o, turn_z(side + self.rng.normal(0, 0.1)), BACKGROUND, skin, half_x=half, half_y=rad * 0.85, arm_rim=rad, curve=1)
        elif kind == "tool":
            half, rad = self.log(30, 90), self.log(1, 9)
            far = self.u(0, half)
            d = self.u(0, 6.28)
            o = [at[0] + far * math.cos(d), at[1] + far * math.sin(d), rad]
            body = look if self.chance(0.5) else self.plain_look(self.any_colour())
            self.add(ROD, half + rad * 2, -rad, rad, o, turn_z(d), BACKGROUND, body, half_x=half, half_y=rad, arm_rim=rad * self.u(0.15, 1.2), curve=self.whole(0, 1))
        elif kind == "tag":
            size = self.u(12, 18)
            self.add(PLATE, 40, 0, 0.3, a, r, BACKGROUND, self.plain_look([0.86, 0.855, 0.83], CARD), half_x=size * 0.7, half_y=size * self.u(0.8, 1.2), fillet=0.1, tip=size)
        elif kind == "card":
            hx, hy = self.u(8, 45), self.u(8, 45)
            self.add(PLATE, math.hypot(hx, hy), 0, self.u(0.1, 3), a, r, BACKGROUND, self.plain_look(self.any_colour()), half_x=hx, half_y=hy, fillet=self.u(0.1, 5))
        elif kind == "wire":
            tip, rad = self.log(3, 25), self.log(0.15, 1.0)
            a[2] = rad
            self.add(RING, tip + rad, -rad, rad, a, r, BACKGROUND, look, tip=tip, half_y=rad)
        else:
            x, y, z = self.log(2, 30), self.log(2, 30), self.log(2, 14)
            a[2] = z * self.u(0.3, 1)
            self.add(ELLIPSOID, max(x, y), -z, z, a, r, BACKGROUND, self.plain_look(self.any_colour()), half_x=x, half_y=y, arm_rim=z)

    # -- ground, light, camera --
    def surface(self, kind=None):
        g = np.zeros(20, np.float32)
        if kind is None:
            seen = [(0, 3.5), (1, 0.8), (2, 2), (3, 2.2), (4, 0.9), (5, 1.2), (6, 1.3), (7, 1.2), (8, 0.8), (9, 0.7), (10, 0.7), (14, 12 if self.wide else 5)]
            kind = self.weighted([(11, 1), (13, 1)] if self.held else seen)
        a, b, c = self.any_colour(0.03, 0.8), self.any_colour(0.03, 0.8), self.any_colour(0.02, 0.8)
        scale, amount, gloss = self.log(0.7, 6), self.u(0.2, 1.0), (self.u(0, 0.06) if self.chance(0.3) else 0)
        if kind == 0:
            if self.chance(0.55):  # papers
                a = np.array([0.85, 0.84, 0.81]) * self.u(0.75, 1.05) * np.exp(self.rng.normal(0, 0.05, 3))
        elif kind in (1, 8):
            a = np.array([0.84, 0.83, 0.80]) * np.exp(self.rng.normal(0, 0.07, 3))
            c = self.any_colour(0.03, 0.3)
            scale = self.log(3, 9)
            b[0], b[2] = (1, 0) if self.chance(0.5) and kind == 1 else (b[0], b[2])
        elif kind == 2:
            scale = self.log(0.4, 2.5)
        elif kind == 3:
            tone = self.log(0.25, 1.7)
            a = np.array([0.44, 0.26, 0.12]) * tone * np.exp(self.rng.normal(0, 0.12, 3))
            b = a * np.array([0.6, 0.5, 0.45]) * self.u(0.7, 1.3)
            scale = self.log(0.6, 2.5)
        elif kind == 4:
            tone = self.log(0.15, 1.4)
            a = np.array([0.50, 0.28, 0.19]) * tone * np.exp(self.rng.normal(0, 0.07, 3))
            b = a * np.array([1.05, 0.85, 0.8])
            scale = self.log(0.6, 2)
        elif kind == 5:
            scale = self.log(4, 35)
        elif kind == 6:
            a = self.any_colour(0.015, 0.06)
        elif kind == 14:
            # Mostly tones that belong together, at times three colours of any kind.
            if self.chance(0.65):
                b = np.clip(a * self.log(0.4, 2.5) * np.exp(self.rng.normal(0, 0.12, 3)), 0.01, 0.95)
                c = np.clip(a * self.log(0.4, 2.5) * np.exp(self.rng.normal(0, 0.2, 3)), 0.01, 0.95)
            scale, amount = self.log(0.5, 8), self.log(0.1, 1)
        elif kind == 7:
            a = np.array([0.95, 0.95, 0.95]) * self.u(0.7, 1.3) * np.exp(self.rng.normal(0, 0.03, 3))
        elif kind == 9:
            a, gloss = np.array([0.4, 0.4, 0.41]) * self.log(0.4, 1.5), self.u(0.05, 0.35)
        elif kind == 10:
            a, c, scale = np.array(self.pick([(0.03, 0.16, 0.10), (0.03, 0.07, 0.2), (0.06, 0.06, 0.06)])) * self.u(0.6, 1.6), np.array([0.6, 0.65, 0.5]) * self.u(0.3, 1), self.pick([5.0, 10.0, 2.0])
        elif kind == 13:
            a = np.array([0.42, 0.26, 0.14]) * self.log(0.6, 1.6)
            b = a * self.u(0.4, 0.8)
        g[0] = kind
        g[1:4], g[4:7], g[7:10] = np.clip(a, 0.005, 1.3), np.clip(b, 0.005, 1.3), np.clip(c, 0.005, 1.3)
        g[10:15] = [scale, self.u(0, 6.28), amount, self.whole(0, 100000), gloss]
        return g

    def light(self):
        s = self.s
        kind = self.weighted([("soft", 4), ("window", 2), ("hard", 1.6), ("several", 1.6), ("flash", 1.2), ("dim", 0.6)])
        lamps = {"soft": self.whole(1, 2), "window": 1, "hard": 1, "several": self.whole(2, 3), "flash": 1, "dim": 1}[kind]
        ambient = {"soft": self.u(0.35, 0.8), "window": self.u(0.15, 0.5), "hard": self.u(0.06, 0.3), "several": self.u(0.1, 0.45),
                   "flash": self.u(0.05, 0.3), "dim": self.u(0.3, 0.9)}[kind]
        shares = self.rng.dirichlet(np.ones(lamps) * 2) * (1 - ambient)
        cast = np.exp(self.rng.normal(0, 0.12, 3))
        for i in range(lamps):
            d = self.u(250, 1200)
            high = math.radians(self.u(18, 85))
            side = self.u(0, 6.28)
            if kind == "flash":
                at = self.eye + np.array([self.u(-25, 25), self.u(-25, 25), 0])
                rad = self.u(2, 8)
            else:
                at = d * np.array([math.cos(side) * math.cos(high), math.sin(side) * math.cos(high), math.sin(high)])
                rad = {"soft": self.u(60, 300), "window": self.u(100, 450), "hard": self.u(2, 20), "several": self.log(4, 150), "dim": self.u(30, 300)}[kind]
            cos = at[2] / np.linalg.norm(at)
            s[16 + 7 * i : 19 + 7 * i] = at
            s[19 + 7 * i] = rad
            s[20 + 7 * i : 23 + 7 * i] = shares[i] / max(cos, 0.3) * cast * np.exp(self.rng.normal(0, 0.08, 3))
        s[14] = lamps
        s[37:40] = ambient * np.exp(self.rng.normal(0, 0.08, 3))
        room = np.exp(self.rng.normal(0, 0.08, 3))
        s[40:43] = self.log(0.06, 0.7) * room
        s[43:46] = self.log(0.12, 1.1) * room
        for i in range(6):
            amount = self.log(0.3, 3) if self.chance(0.5) else -self.u(0.1, 0.6)
            s[46 + 5 * i : 51 + 5 * i] = [self.u(-0.9, 0.9), self.u(-0.9, 0.9), self.log(0.05, 0.5), amount, self.rng.normal(0, 0.08)]

    def camera(self, px_per_mm):
        f = self.u(22, 60) / 36 * 1024
        tilt = abs(self.rng.normal(0, 0.05)) if self.chance(0.6) else self.u(0.1, 0.35) if self.chance(0.75) else self.u(0.35, 0.65)
        r = lean(tilt, self.u(0, 6.28)) @ turn_z(self.u(0, 6.28))
        # This square is a piece of a larger photograph: the optical axis need not go through it.
        off = np.array([self.u(-192, 192), self.u(-64, 64)])
        x, y, z = r[:, 0], r[:, 1], r[:, 2]
        right, down = x / f, -y / f
        ahead = -z + right * off[0] + down * off[1]
        eye = -ahead * (f / px_per_mm)
        lowest = min((ahead + right * a + down * b)[2] * -1 for a in (-320, 320) for b in (-320, 320))
        if lowest < 0.25:
            return self.camera(px_per_mm)
        self.eye = eye
        self.s[0:12] = np.concatenate([eye, right, down, ahead])
        return tilt

    def build(self):
        s = self.s
        self.on_mat = self.chance(0.5)
        s[120] = -1
        if self.on_mat:
            px_per_mm = self.log(2.3, 5.5) if self.chance(0.8) else self.log(5.5, 10)
            paper = self.weighted([(0, 0.7), (1, 0.2), (2, 0.1)])
        else:
            px_per_mm = self.log(2.5, 16)
        span = SIZE / px_per_mm
        self.camera(px_per_mm)
        s[80:100] = self.surface(None)
        if self.on_mat:
            w, h = [(210, 297), (216, 279), (297, 420)][paper]
            a = self.u(0, 6.28)
            # Where on the sheet this piece lies: anywhere from the middle to beyond the edge.
            x, y = self.u(-0.55, 0.55) * w, self.u(-0.55, 0.55) * h
            c, sn = math.cos(a), math.sin(a)
            s[120:127] = [paper, -(c * x - sn * y), -(sn * x + c * y), a, 1 + self.rng.normal(0, 0.006), 1 + self.rng.normal(0, 0.006), self.log(0.02, 0.09)]
            s[127:130] = np.array([0.86, 0.855, 0.83]) * self.u(0.85, 1.03) * np.exp(self.rng.normal(0, 0.025, 3))
        self.light()
        self.fill(span, px_per_mm)
        s[12] = len(self.parts)
        return self

    def place(self, rad, placed, span, gap):
        for _ in range(40):
            reach = span / 2 + 0.35 * rad
            at = self.rng.uniform(-reach, reach, 2)
            if all(math.hypot(at[0] - q[0], at[1] - q[1]) > rad + q[2] + gap for q in placed):
                placed.append((at[0], at[1], rad))
                return at
        return None

    def fill(self, span, px_per_mm):
        placed = []
        mood = self.weighted([("wheels", 0.72), ("nothing", 0.09), ("plate", 0.10), ("heap", 0.09)])
        if self.on_mat:
            low, high = 4, min(45, 0.42 * span)
        else:
            low, high = max(2.5, 0.035 * span), min(80, 0.6 * span)
        style = self.metal_look() if self.chance(0.35) else None  # one movement, one look
        if mood == "plate":
            hx, hy = self.u(0.15, 0.55) * span, self.u(0.15, 0.55) * span
            at = self.rng.uniform(-0.3, 0.3, 2) * span
            self.plate(at, hx, hy)
            if self.chance(0.5):
                placed.append((at[0], at[1], math.hypot(hx, hy)))
            count = self.whole(0, 3)
        elif mood == "heap":
            count = self.whole(3, 6)
        else:
            count = 0 if mood == "nothing" else self.whole(1, 7 if self.chance(0.5) else 2)
        for _ in range(count):
            tip = self.log(low, max(high, low * 1.2))
            gap = -1.4 * tip if mood == "heap" else (self.u(0.02, 0.15) if self.chance(0.15) else self.u(0.5, 6))
            at = self.place(tip, placed, span * (0.6 if mood == "heap" else 1.0), gap)
            if at is None:
                continue
            z = len(placed) * self.u(1, 3) if mood == "heap" else (self.u(1, 14) if self.chance(0.12) else 0.0)
            self.wheel(tip, at, z, look=dict(style) if style is not None and self.chance(0.85) else None)
        for _ in range(self.whole(0, 2) if self.chance(0.45 if self.wide else 0.25) else 0):
            at = self.place(5, placed, span, 1)
            if at is not None:
                self.standing_pinion(at) if self.chance(0.5) else self.lying_arbor(at)
        if mood == "nothing" or self.chance(0.5):
            for _ in range(self.whole(1, 8 if mood == "nothing" else 5)):
                at = self.place(self.u(3, 12), placed, span, 0 if self.chance(0.8) else -10)
                if at is not None:
                    self.distractor(at, span)


def pack_scene(seed, held_back=False, wide=False):
    """Scene (192), parts (28, 64) and tables (4096) as float32, and whether it lies on the mat."""
    scene = Scene(seed, held_back, wide).build()
    parts = np.zeros((MAX_PARTS, PART_F), np.float32)
    for i, p in enumerate(scene.parts):
        parts[i] = p
    return scene.s, parts, scene.table, scene.on_mat
