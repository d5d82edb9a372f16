"""Draws wheels with their arbor and pinion in them: upright, let through the pierced sheet, or leaning on rim and arbor.

  python3 test/drawn/arbors.py RASTERS FOLDER FIRST LAST [upright|leaning|lantern]     writes FOLDER/photos and FOLDER/truth

RASTERS: made by `npx tsx samples/render/sheet-texture.ts RASTERS`. Truth: `arbor.pinion` of each wheel says how many leaves
(or trundles, `kind` lantern; closed where the upper cap hides them), its tip diameter, and where along the axis it sits over the upper face (below 0: on the far side).
`npx tsx test/accuracy/run-arbors.ts FOLDER/truth` compares.
"""

import os
import sys

import numpy as np
from stage import BRASS, BRIGHT_BRASS, DARK_STEEL, DULL_BRASS, STEEL, Metal, Solid, Stage, about_z, circle, leaning, prism, project, save
from wheels import PRINT_SCALE, Wheel, any_camera, any_development, any_room, pick

LEAVES = ((6, 2), (7, 2), (8, 3), (9, 1), (10, 2), (11, 1), (12, 2), (14, 1), (16, 1))
TRUNDLES = ((6, 2), (7, 2), (8, 3), (9, 1), (10, 1))
STEELS = ((STEEL, 3), (DARK_STEEL, 2), (Metal((0.2, 0.2, 0.21), mirror=0.9, streaks=0.2), 1))


def leaf_outline(rng, leaves, module):
    """A cut pinion: radial flanks, round or pointed tops, slim or full leaves. Outline, tip radius, root radius."""
    pitch = leaves * module / 2
    half = rng.uniform(0.32, 0.5) * np.pi / leaves
    addendum, dedendum = rng.uniform(0.5, 0.85), rng.uniform(1.1, 1.5)
    root, tip = max(pitch - dedendum * module, 0.35 * pitch), pitch + addendum * module
    pointed = rng.uniform(1.0, 1.6)
    s = np.linspace(0, np.pi / 2, 9)
    side = [(root, -half)] + [(pitch + addendum * module * np.sin(t), -half * max(np.cos(t), 0.04) ** pointed) for t in s]
    piece = np.array(side + [(r, -a) for r, a in reversed(side)])
    polar = np.concatenate([piece + [0, 2 * np.pi * k / leaves] for k in range(leaves)])
    return np.column_stack([polar[:, 0] * np.cos(polar[:, 1]), polar[:, 0] * np.sin(polar[:, 1])]), tip, root


class Pinion:
    def __init__(self, rng, lantern):
        self.lantern = lantern
        self.leaves = int(pick(rng, TRUNDLES if lantern else LEAVES))
        self.module = rng.uniform(0.42, 0.75) * (1.15 if self.leaves < 10 else 0.92)
        self.outline, self.tip, root = leaf_outline(rng, self.leaves, self.module)
        pitch = self.leaves * self.module / 2
        self.wire = 0.62 * self.module * rng.uniform(0.85, 1.1)
        self.shown = lantern and rng.random() < 0.8
        """The upper cap is drilled through: the ends of the trundles are seen in it."""
        if lantern:
            self.tip, root = pitch + self.wire + rng.uniform(0.1, 0.5), pitch - self.wire
        self.length = rng.uniform(4, 8.5)
        self.arbor = min(0.85 * root, rng.uniform(0.7, 1.5))
        self.from_face = rng.uniform(1.2, 2.4) if rng.random() < 0.4 else rng.uniform(2.5, 9)

    def solids(self, low, steel, brass, place, turn, eye):
        """From `low` up its own axis."""
        turned = lambda points: points @ about_z(turn)[:2, :2].T  # noqa: E731
        if not self.lantern:
            yield prism([turned(self.outline)], low, low + self.length, steel, **place)
            return
        yield prism([circle(self.tip)], low, low + 1.1, brass, **place)
        yield prism([circle(self.arbor)], low + 1.1, low + self.length - 1.1, steel, **place)
        pitch = self.leaves * self.module / 2
        angles = 2 * np.pi * np.arange(self.leaves) / self.leaves + np.radians(turn)
        middle = lambda a: place["turn"] @ [pitch * np.cos(a), pitch * np.sin(a), low] + np.array(place["at"])  # noqa: E731
        for a in sorted(angles, key=lambda a: -np.linalg.norm(middle(a) - eye)):
            yield prism([circle(self.wire, (pitch * np.cos(a), pitch * np.sin(a)), 24)], low + 1.1, low + self.length - 1.1, steel, **place)
        yield prism([circle(self.tip)], low + self.length - 1.1, low + self.length, brass, **place)
        if self.shown:
            for a in angles:
                yield prism([circle(self.wire, (pitch * np.cos(a), pitch * np.sin(a)), 24)], low + self.length, low + self.length + 0.05, steel, **place)


def arbor_solids(rng, wheel, pinion, above, metal, place, eye):
    """Parts of the arbor below the wheel, and above it, each from the lower end up; height of the ends over the lower face."""
    steel = pick(rng, STEELS)
    face = wheel.thickness
    collet = max(wheel.bore / 2 + rng.uniform(0.4, 1.6), pinion.arbor + 0.6)
    rise = rng.uniform(0.7, 1.2)
    turn = rng.uniform(0, 360)
    sides = {}
    for side in ("above", "below"):
        carries = side == ("above" if above else "below")
        free = rng.uniform(1.2, 5) if carries else rng.uniform(3, 9)
        end = rise + free
        parts = [prism([circle(collet)], 0, rise, metal, **place)]
        rods = [(rise, end)]
        if carries:
            low = max(pinion.from_face, rise)
            end = low + pinion.length + free
            rods = [(rise, low), (low + pinion.length, end)]
        parts += [prism([circle(pinion.arbor)], *rods[0], steel, **place)] if rods[0][1] - rods[0][0] > 0.05 else []
        if carries:
            parts += list(pinion.solids(low, steel, metal, place, turn, eye))
            parts += [prism([circle(pinion.arbor)], *rods[1], steel, **place)]
        parts += [Solid([circle(0.45)], [circle(0.4)], end, end + rng.uniform(1, 2.2), steel, **place)]
        sides[side] = parts
    # Below the wheel the same, upside down.
    below = [Solid(p.upper, p.lower, -p.high, -p.low, p.metal, **place) for p in reversed(sides["below"])]
    for p in sides["above"]:
        p.low, p.high = p.low + face, p.high + face
    return below, sides["above"]


def main(rasters, folder, first, last, kind="upright"):
    os.makedirs(folder, exist_ok=True)
    with open(os.path.join(folder, "survey.yaml"), "w") as f:
        f.write("# Drawn pictures of invented wheels on their arbors.\n")
        f.write(f"scale: {{ across: {150 * PRINT_SCALE[0]:.2f} mm, along: {150 * PRINT_SCALE[1]:.2f} mm, measured with: calipers }}\n")
    for seed in range(first, last + 1):
        rng = np.random.default_rng(90_000 + seed)
        lens, camera, pose = any_camera(rng, rng.uniform(9, 17), 20, (3264, 2448))
        stage = Stage(camera, pose, any_room(rng), rasters, seed, print_scale=PRINT_SCALE)
        parts = []
        for label, x in zip(("T2", "T3"), (-32, 32)):
            at = np.array([x, 0]) + rng.uniform(-8, 8, 2)
            wheel = Wheel(rng, 40)
            wheel.has_arbor, wheel.bore = False, max(wheel.bore, 2.8)
            pinion = Pinion(rng, kind == "lantern")
            metal = pick(rng, ((BRASS, 4), (BRIGHT_BRASS, 2), (DULL_BRASS, 2)))
            turn = rng.uniform(0, 360)
            above = kind != "leaning" or rng.random() < 0.5
            lean, towards = (rng.uniform(7, 22), rng.uniform(0, 360)) if kind == "leaning" else (0.0, 0.0)
            rotation = leaning(lean, towards) @ about_z(turn)
            middle = np.array([*at, wheel.tip * np.sin(np.radians(lean))])
            place = {"turn": rotation, "at": tuple(middle), "seed": int(rng.integers(1e6))}
            below, over = arbor_solids(rng, wheel, pinion, above, metal, place, stage.eye)
            disc = next(iter(wheel.solids(rng, metal, at, turn)))
            disc.turn, disc.at = rotation, tuple(middle)
            for solid in [*(below if lean else []), disc]:
                stage.shadow(solid)
            for solid in below if lean else []:
                stage.draw(solid)
            stage.draw(disc)
            for solid in over:
                if not lean:
                    stage.shadow(solid, wheel.thickness)
                stage.draw(solid)
            truth = wheel.truth(camera, pose, "brass", label, at, turn, False)
            if lean:
                truth |= lean_truth(wheel, rotation, middle, lean, towards, camera, pose)
            truth["bore"]["visible"] = False
            truth["arbor"] = {
                "diameter_mm": 2 * pinion.arbor,
                "pinion": {
                    "leaves": pinion.leaves, "module_mm": pinion.module, "kind": "cut" if not pinion.lantern else "lantern" if pinion.shown else "lantern, closed",
                    "tip_diameter_mm": 2 * pinion.tip, "length_mm": pinion.length, "from_face_mm": pinion.from_face if above else -pinion.from_face,
                },
            }  # fmt: skip
            parts.append(truth)
        save(stage, any_development(rng), lens, f"{kind}-{seed}", folder, parts, f"wheels with arbor and pinion, {kind}")
        print(f"{kind}-{seed}: {[p['arbor']['pinion']['leaves'] for p in parts]}", flush=True)


def lean_truth(wheel, rotation, middle, lean, towards, camera, pose):
    centre = middle + rotation @ [*wheel.off, wheel.thickness]
    tips = []
    for k in range(wheel.teeth):
        a = 2 * np.pi * k / wheel.teeth
        tip = middle + rotation @ [*(wheel.off + wheel.tip * np.array([np.cos(a), np.sin(a)])), wheel.thickness]
        tips.append({"angle_deg": np.degrees(a) % 360, "state": "missing" if k in wheel.lost else "whole", "at_px": project(camera, pose, tip).tolist()})
    return {
        "centre_mm": centre[:2].tolist(), "centre_px": project(camera, pose, centre).tolist(), "face_height_mm": float(centre[2]),
        "lean_deg": lean, "lean_towards_deg": towards,
        "teeth": {"count": wheel.teeth, "missing": [{"angle_deg": tips[k]["angle_deg"]} for k in wheel.lost], "tips": tips},
    }  # fmt: skip


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4]), *sys.argv[5:6])
