"""Draws wheels on the mat: single ones and trays, of many finishes, forms of teeth, lights and views.

  python3 test/drawn/wheels.py RASTERS FOLDER FIRST LAST [single|tray]     writes FOLDER/photos and FOLDER/truth

RASTERS: made by `npx tsx samples/render/sheet-texture.ts RASTERS`. FOLDER/survey.yaml gets the readings of the check bars.
`npm run accuracy -- --truth-dir FOLDER/truth --kinds none` then compares.
"""

import os
import sys

import numpy as np
from stage import (
    BRASS, BRIGHT_BRASS, BROWN_BRASS, DARK_STEEL, DULL_BRASS, LENS_A, LENS_A_ZOOM, LENS_B, NICKEL, STEEL,
    Camera, Develop, Metal, Room, Solid, Stage, about_z, circle, look, prism, project, save,
)  # fmt: skip

from movement import Crossings
from tooth_profile import addendum_factor, escape_wheel_pitch, train_wheel_pitch
from wheel_outline import crossing_holes

PRINT_SCALE = (0.9964, 1.0022)
FINISHES = ((("brass", BRASS), 5), (("bright", BRIGHT_BRASS), 3), (("dull", DULL_BRASS), 3), (("brown", BROWN_BRASS), 2), (("nickel", NICKEL), 1), (("steel", STEEL), 1))
GAP_MM = 9


def pick(rng, weighted):
    items, weights = zip(*weighted)
    return items[rng.choice(len(items), p=np.array(weights) / sum(weights))]


def rounded_pitch(teeth, module, addendum, dedendum, thickness):
    """Radial flanks below the pitch circle, half an ellipse above: (radius, angle), from mid-space to mid-space."""
    pitch, half = teeth * module / 2, thickness * np.pi / teeth
    rise = np.linspace(0, np.pi / 2, 14)
    flank = [(pitch - dedendum * module, -np.pi / teeth), (pitch - dedendum * module, -half * 0.98)]
    right = flank + [(pitch + addendum * module * np.sin(t), -half * max(np.cos(t), 0.06)) for t in rise]
    return np.array(right + [(r, -a) for r, a in reversed(right[1:])])


def toothed(rng, teeth, module):
    """Name of the form, polar pitch, addendum in modules, root radius."""
    if rng.random() < 0.5:
        leaves = int(rng.choice([6, 7, 8, 10, 12]))
        return "cycloidal", train_wheel_pitch(teeth, module, leaves), addendum_factor(teeth, leaves), teeth * module / 2 - np.pi / 2 * module
    addendum, dedendum = rng.uniform(1.25, 1.6), rng.uniform(1.5, 1.75)
    form = rounded_pitch(teeth, module, addendum, dedendum, rng.uniform(0.42, 0.52))
    return "rounded", form, addendum, teeth * module / 2 - dedendum * module


class Wheel:
    """In its own frame: origin at the bore, mm."""

    def __init__(self, rng, largest_mm):
        self.escape = rng.random() < 0.12
        self.teeth = int(rng.integers(28, 45) if self.escape else rng.choice([rng.integers(36, 66), rng.integers(60, 100)]))
        if self.escape:
            tip = rng.uniform(26, 38) / 2
            polar, root = escape_wheel_pitch(self.teeth, 2 * tip), tip - 2.35
            self.form, self.module, self.addendum = "escape", None, None
        else:
            self.module = min(rng.uniform(0.42, 0.85), largest_mm / (self.teeth + 3))
            self.form, polar, self.addendum, root = toothed(rng, self.teeth, self.module)
            tip = self.teeth * self.module / 2 + self.addendum * self.module
        self.tip, self.root = tip, root
        self.lost = sorted(rng.choice(self.teeth, int(rng.integers(1, 4)), replace=False)) if rng.random() < 0.2 else []
        away = rng.uniform(0.04, 0.2) if rng.random() < 0.4 else rng.uniform(0, 0.015)
        self.off = away * np.array([np.cos(a := rng.uniform(0, 2 * np.pi)), np.sin(a)])
        self.oval = rng.uniform(0.08, 0.2) if rng.random() < 0.2 else 0.0
        self.oval_at = rng.uniform(0, np.pi)
        pieces = []
        for k in range(self.teeth):
            piece = np.array([[root, -np.pi / self.teeth], [root, 0.0]]) if k in self.lost else polar.copy()
            piece[:, 1] += 2 * np.pi * k / self.teeth
            # Cutting errors of some microns, tooth by tooth.
            piece[:, 1] += rng.normal(0, 0.004) / tip
            pieces.append(piece)
        polar = np.concatenate(pieces)
        r = polar[:, 0] + self.oval / 4 * np.cos(2 * (polar[:, 1] - self.oval_at))
        self.outer = np.column_stack([r * np.cos(polar[:, 1]), r * np.sin(polar[:, 1])]) + self.off
        self.thickness = float(np.round(rng.uniform(0.9, 2.2), 2))
        self.bore = rng.uniform(2.5, 6)
        self.crossings = int(rng.choice([0, 4, 5])) if root > 11 else 0
        arms = Crossings(self.crossings, self.bore / 2 + rng.uniform(1.5, 3), rng.uniform(1.2, 3), rng.uniform(2, 3.4), rng.uniform(1.6, 2.6))
        self.holes = [np.asarray(h)[::-1] for h in crossing_holes(arms, root)] if self.crossings else []
        self.has_arbor = rng.random() < 0.45

    def solids(self, rng, metal, at, turn_deg):
        place = {"turn": about_z(turn_deg), "at": (*at, 0.0), "seed": int(rng.integers(1e6))}
        outlines = [self.outer, *self.holes, circle(self.bore / 2, hole=True)]
        wall = Metal(metal.rgb, mirror=min(1.0, metal.mirror * rng.uniform(0.6, 1.5)))
        yield prism(outlines, 0.0, self.thickness, metal, wall=wall, **place)
        if self.has_arbor:
            rod = pick(rng, ((STEEL, 2), (DARK_STEEL, 1)))
            collet = self.bore / 2 + rng.uniform(0.2, 2.0)
            rise = self.thickness + rng.uniform(0.8, 3)
            yield prism([circle(collet)], self.thickness, rise, metal, **place)
            top = rise + rng.uniform(4, 25)
            yield prism([circle(rng.uniform(0.9, self.bore / 2))], rise, top, rod, **place)
            yield Solid([circle(0.5)], [circle(0.45)], top, top + 2, rod, **place)

    def truth(self, camera, pose, finish, label, at, turn_deg, has_card):
        a = np.radians(turn_deg)
        turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
        off, face = turn @ self.off, self.thickness
        centre = np.array(at) + off
        px = lambda point: project(camera, pose, np.append(point, face))  # noqa: E731
        tips = []
        for k in range(self.teeth):
            angle = 2 * np.pi * k / self.teeth
            r = self.tip + self.oval / 4 * np.cos(2 * (angle - self.oval_at))
            tip = centre + turn @ (r * np.array([np.cos(angle), np.sin(angle)]))
            tips.append({"angle_deg": np.degrees(angle + a) % 360, "state": "missing" if k in self.lost else "whole", "at_px": px(tip).tolist()})
        return {
            "label": label, "words": f"invented wheel, {self.form} teeth", "finish": finish, "tag_in_photo": has_card,
            "kind": "escape-wheel" if self.escape else "wheel",
            "centre_mm": centre.tolist(), "centre_px": px(centre).tolist(),
            "px_per_mm": float(np.mean([np.hypot(*(px(centre + d) - px(centre))) for d in ([1, 0], [0, 1])])),
            "thickness_mm": self.thickness, "face_height_mm": face,
            "tip_diameter_mm": 2 * self.tip, "root_diameter_mm": 2 * self.root,
            **({} if self.module is None else {"module_mm": self.module, "pitch_diameter_mm": self.teeth * self.module, "addendum_factor": self.addendum}),
            "teeth": {"count": self.teeth, "missing": [{"angle_deg": tips[k]["angle_deg"]} for k in self.lost], "tips": tips},
            "crossings": {"count": self.crossings},
            "bore": {"diameter_mm": self.bore, "visible": not self.has_arbor},
            "eccentricity_mm": float(np.hypot(*off)), "ovality_mm": self.oval,
        }  # fmt: skip


def any_room(rng):
    high = np.radians(rng.uniform(35, 80))
    round_ = rng.uniform(0, 2 * np.pi)
    return Room(
        lamp=(np.cos(high) * np.cos(round_), np.cos(high) * np.sin(round_), np.sin(high)),
        lamp_share=rng.uniform(0.15, 0.75), softness=float(rng.choice([0.03, 0.12, 0.35])),
        tint=(rng.uniform(0.9, 1.12), 1.0, rng.uniform(0.85, 1.1)), slope=tuple(rng.uniform(-0.15, 0.15, 2)),
    )  # fmt: skip


def any_camera(rng, px_per_mm, foot_spread_mm, size):
    lens = pick(rng, ((LENS_A, 3), (LENS_B, 2), (LENS_A_ZOOM, 2)))
    camera = Camera.of(lens, *size)
    foot = rng.uniform(-foot_spread_mm, foot_spread_mm, 2)
    tilt = rng.uniform(0, 6) if rng.random() < 0.6 else rng.uniform(6, 22)
    return lens, camera, look(foot, camera.f / px_per_mm, tilt, rng.uniform(0, 360), rng.uniform(-180, 180))


def any_development(rng):
    return Develop(
        blur_px=rng.uniform(0.5, 1.3), exposure=rng.uniform(0.5, 0.95), noise=rng.uniform(0.5, 2.5),
        sharpen=float(rng.choice([0, 0.4, 0.8])), quality=int(rng.integers(72, 95)), white_balance=tuple(rng.uniform(0.94, 1.06, 2)),
    )  # fmt: skip


def places(rng, wheels, field):
    """Middles on the field, no two wheels nearer than a gap; those that find no room are left out."""
    put = []
    for wheel in sorted(wheels, key=lambda w: -w.tip):
        for _ in range(300):
            room = np.maximum(np.array(field) - wheel.tip - 3, 0.1)
            at = rng.uniform(-room, room)
            if all(np.hypot(*(at - other)) > wheel.tip + w.tip + GAP_MM for w, other in put):
                put.append((wheel, at))
                break
    return put


def card_place(rng, wheel, at, put):
    """Beside its wheel, where no other wheel is as near."""
    sides = rng.uniform(0, 2 * np.pi) + np.linspace(0, 2 * np.pi, 16, endpoint=False)
    spots = [at + (wheel.tip + 13) * np.array([np.cos(side), np.sin(side)]) for side in sides]
    room = [min((np.hypot(*(spot - other)) - w.tip for w, other, *_ in put if w is not wheel), default=0) for spot in spots]
    return spots[int(np.argmax(room))]


def main(rasters, folder, first, last, kind="mixed"):
    os.makedirs(folder, exist_ok=True)
    with open(os.path.join(folder, "survey.yaml"), "w") as f:
        f.write("# Drawn pictures of invented wheels.\n")
        f.write(f"scale: {{ across: {150 * PRINT_SCALE[0]:.2f} mm, along: {150 * PRINT_SCALE[1]:.2f} mm, measured with: calipers }}\n")
    for seed in range(first, last + 1):
        rng = np.random.default_rng(40_000 + seed)
        tray = kind == "tray" or (kind == "mixed" and seed % 3 == 0)
        size = (4032, 3024) if tray else (3264, 2448)
        lens, camera, pose = any_camera(rng, rng.uniform(10, 12.5) if tray else rng.uniform(8, 15), 25, size)
        stage = Stage(camera, pose, any_room(rng), rasters, seed, print_scale=PRINT_SCALE)
        wheels = [Wheel(rng, 48 if tray else 62) for _ in range(int(rng.integers(5, 9)) if tray else int(rng.integers(1, 3)))]
        labels = iter(["T1", "T2", "T3", "T4", "S1", "S2", "S3", "S4", "M1"])
        put = [(wheel, at, next(labels), tray or rng.random() < 0.5) for wheel, at in places(rng, wheels, (68, 100) if tray else (50, 55))]
        for wheel, at, label, has_card in put:
            if has_card:
                stage.card(label, card_place(rng, wheel, at, put), rng.uniform(-30, 30))
        parts = []
        for wheel, at, label, has_card in put:
            turn, (finish, metal) = rng.uniform(0, 360), pick(rng, FINISHES)
            for solid in wheel.solids(rng, metal, at, turn):
                stage.add(solid)
            parts.append(wheel.truth(camera, pose, finish, label if has_card else "", at, turn, has_card))
        save(stage, any_development(rng), lens, f"wheels-{seed}", folder, parts, "tray" if tray else "single wheels")
        print(f"wheels-{seed}: {len(parts)} wheels", flush=True)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4]), *sys.argv[5:6])
