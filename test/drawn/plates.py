"""Drawn plates with known truth: holes of every kind, and what is not one.

  python3 test/drawn/plates.py RASTERS FOLDER FIRST_SEED COUNT [KIND]

Plain and worn holes, bevels, oil sinks, bushes; posts, studs and screws of steel that were left in; stains, scratches
and punch marks. KIND: `any` (the default), `posts` (more of them), `grey` (nearly grey plates), `steel` (hardly a colour, or none). Invented, and drawn by
stage.py; RASTERS and the format of the truth are described there. `npx tsx test/accuracy/run-plates.ts --truth
FOLDER/truth` compares. Needs about 1 GB of memory and half a minute a picture.
"""

import sys

import numpy as np

from stage import (
    BRASS, BRIGHT_BRASS, BROWN_BRASS, DARK_STEEL, DULL_BRASS, LENS_A, LENS_A_ZOOM, NICKEL, STEEL,
    Camera, Develop, Metal, Room, Solid, Stage, about_z, circle, look, prism, project, save,
)  # fmt: skip

GREY_PATINA = Metal((0.17, 0.165, 0.155), mirror=0.2, blotches=0.15)
GREYISH = Metal((0.36, 0.33, 0.27), mirror=0.35, blotches=0.15)
DARK = Metal((0.03, 0.03, 0.03), mirror=0.0, streaks=0.0, blotches=0.0)
FINISHES = {
    "brass": BRASS, "bright": BRIGHT_BRASS, "dull": DULL_BRASS, "brown": BROWN_BRASS, "nickel": NICKEL, "greyish": GREYISH,
    "steel": STEEL, "grey patina": GREY_PATINA,
}  # fmt: skip
THIN = 0.012
"""What lies in the face is drawn as a sheet of this thickness on it, mm."""
EDGE_MM = 6.0


def worn(radius, oval, angle_deg, corners=96):
    """Outline of a hole: `oval` is the longest minus the shortest diameter."""
    a = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    points = np.column_stack([(radius + oval / 4) * np.cos(a), (radius - oval / 4) * np.sin(a)])
    return points @ about_z(angle_deg)[:2, :2].T


def rounded_rectangle(width, height, corner):
    arcs = []
    for x, y, start in ((1, 1, 0), (-1, 1, 90), (-1, -1, 180), (1, -1, 270)):
        a = np.radians(np.linspace(start, start + 90, 24))
        arcs.append(np.column_stack([x * (width / 2 - corner) + corner * np.cos(a), y * (height / 2 - corner) + corner * np.sin(a)]))
    return np.concatenate(arcs)


class Layout:
    """What a plate has where, in its own frame, mm."""

    def __init__(self, rng, kind):
        self.rng = rng
        self.width, self.height = rng.uniform(64, 92), rng.uniform(80, 116)
        self.thickness = rng.uniform(1.8, 3.0)
        self.bevel = float(rng.choice([0.0, rng.uniform(0.04, 0.2)], p=[0.2, 0.8]))
        self.holes, self.posts, self.taken = [], [], []
        pillar, screw = rng.uniform(3.8, 5.2), rng.uniform(2.1, 2.8)
        for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1)):
            at = np.array([x * (self.width / 2 - 7), y * (self.height / 2 - 7)])
            self.taken.append(at)
            if rng.random() < 0.35:
                self.posts.append(self.post(at, pillar / 2, rng.choice([0.0, 0.0, rng.uniform(0.3, 2)])))
            else:
                self.holes.append(self.hole(at, pillar / 2, "pillar"))
        for _ in range(2):
            at = self.free(8)
            if at is not None:
                self.holes.append(self.hole(at, screw / 2, "screw"))
        for _ in range(9):
            at = self.free(9)
            if at is None:
                continue
            oval = rng.uniform(0.05, 0.35) if rng.random() < 0.45 else 0.0
            more = {}
            radius = rng.uniform(0.5, 1.9)
            if rng.random() < 0.25 and radius < 1.4:
                more = {"sink_mm": radius + rng.uniform(0.6, 1.4), "sink_depth_mm": rng.uniform(0.4, 1.0)}
            elif rng.random() < 0.15:
                more = {"bush_mm": 2 * (radius + rng.uniform(0.7, 1.3))}
            self.holes.append(self.hole(at, radius, "pivot", oval, rng.uniform(0, 180), **more))
        for _ in range(7 if kind == "posts" else rng.integers(1, 4)):
            at = self.free(10)
            if at is None:
                continue
            up = rng.choice([0.0, rng.uniform(0.05, 0.5), rng.uniform(0.5, 3), rng.uniform(3, 15)], p=[0.35, 0.15, 0.3, 0.2])
            self.posts.append(self.post(at, rng.uniform(0.6, 2.2), up))
        for _ in range(rng.integers(0, 3)):
            at = self.free(8)
            if at is not None:
                self.posts.append(self.post(at, rng.uniform(1.2, 2.2), rng.choice([0.0, 0.8]), slot=True))

    def hole(self, at, radius, use, oval=0.0, angle=0.0, **more):
        return {"at": at, "radius": radius, "use": use, "oval": oval, "angle": angle, **more}

    def post(self, at, radius, up, slot=False):
        return {"at": at, "radius": radius, "up": float(up), "dark": self.rng.random() < 0.3, "slot": slot, "turn": self.rng.uniform(0, 180)}

    def free(self, gap):
        for _ in range(300):
            at = np.array([self.rng.uniform(-0.5, 0.5) * (self.width - 2 * EDGE_MM), self.rng.uniform(-0.5, 0.5) * (self.height - 2 * EDGE_MM)])
            if all(np.hypot(*(at - other)) > gap for other in self.taken):
                self.taken.append(at)
                return at
        return None

    def hole_radius(self, hole, below):
        """Of the full-size edge and of what is cut off it, `below` mm under the face."""
        depth = hole.get("sink_depth_mm")
        if depth is not None:
            return hole["radius"] + max(0.0, 1 - below / depth) * (hole["sink_mm"] - hole["radius"])
        return hole["radius"] + max(0.0, self.bevel - below)

    def layers(self, metal, base, seed, wall):
        """From below: between two depths every hole is a stump."""
        depths = sorted({self.thickness, self.bevel, 0.0, *(h["sink_depth_mm"] for h in self.holes if "sink_depth_mm" in h)}, reverse=True)
        outer = rounded_rectangle(self.width, self.height, 4.0)
        for low, high in zip(depths, depths[1:]):
            sides = [[outer * (1 - 2 * max(0.0, self.bevel - d) / self.width)] for d in (low, high)]
            for side, below in zip(sides, (low, high)):
                for h in self.holes:
                    side.append((worn(self.hole_radius(h, below), h["oval"], h["angle"]) + h["at"])[::-1])
            yield Solid(*sides, self.thickness - low, self.thickness - high, metal, seed=seed, wall=wall, **base)


def lies_on(rng, centre, radius):
    """Outline of a stain."""
    a = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    r = radius * (1 + sum(rng.uniform(-0.2, 0.2) * np.cos(k * a + rng.uniform(0, 6)) for k in (2, 3, 5)))
    return centre + np.column_stack([r * np.cos(a), r * np.sin(a)])


def draw_plate(rasters, folder, seed, kind):
    rng = np.random.default_rng(41_000 + seed)
    greyish = ["nickel", "greyish", "dull", "brown"]
    hardly = ["steel", "grey patina", "nickel"]
    name = str(rng.choice(greyish if kind == "grey" else hardly if kind == "steel" else ["brass", "bright", "brass", "bright", "dull", "brown"]))
    layout = Layout(rng, kind)
    zoom = rng.random() < 0.5
    lens, camera = (LENS_A_ZOOM, Camera.of(LENS_A_ZOOM, 3264, 2448)) if zoom else (LENS_A, Camera.of(LENS_A, 4032, 3024))
    under = float(rng.choice([0.0, rng.uniform(22, 40)], p=[0.65, 0.35]))
    px_per_mm = rng.uniform(9, 13) if zoom else rng.uniform(9, 11)
    distance = camera.f / px_per_mm + under + layout.thickness
    pose = look((rng.uniform(-8, 8), rng.uniform(-8, 8)), distance, rng.uniform(0, 20), rng.uniform(0, 360), 90 + rng.uniform(-3, 3))
    lamp = (rng.uniform(-1, 1), rng.uniform(-1, 1), rng.uniform(0.5, 1.2))
    room = Room(lamp, rng.uniform(0.1, 0.7), rng.uniform(0.05, 0.5), tint=(rng.uniform(0.97, 1.06), 1.0, rng.uniform(0.9, 1.03)),
                slope=(rng.uniform(-0.1, 0.1), rng.uniform(-0.1, 0.1)))  # fmt: skip
    scale = (1 + rng.normal(0, 0.003), 1 + rng.normal(0, 0.003))
    stage = Stage(camera, pose, room, rasters, seed, print_scale=scale)
    turn = rng.uniform(-12, 12)
    at = np.array([rng.uniform(-6, 6), rng.uniform(-6, 6), under])
    base = {"turn": about_z(turn), "at": tuple(at)}
    metal = FINISHES[name]
    # What the lamp does not reach: walls see each other, and little of the room.
    wall = Metal(tuple(rng.uniform(0.3, 0.8) * np.array(metal.rgb) * (1.1, 1.0, 0.85)), mirror=0.3)
    layers = list(layout.layers(metal, base, seed, wall))
    for layer in layers:
        stage.shadow(layer)
    for layer in layers:
        stage.draw(layer)
    face = layout.thickness
    # What lies in the face.
    for h in layout.holes:
        if "bush_mm" in h:
            hole = (worn(h["radius"] + layout.bevel, h["oval"], h["angle"]) + h["at"])[::-1]
            seam, ring = (circle(h["bush_mm"] / 2 + extra, h["at"]) for extra in (0.04, 0.0))
            stage.draw(prism([seam, hole], face, face + THIN, DARK, seed=seed, **base))
            other = Metal(tuple(c * k for c, k in zip(metal.rgb, (0.95, 0.88, 0.8))), mirror=metal.mirror)
            stage.draw(prism([ring, hole], face + THIN, face + 2 * THIN, other, seed=seed + 9, **base))
    for _ in range(rng.integers(0, 4)):
        spot = layout.free(4)
        if spot is None:
            continue
        stained = Metal(tuple(np.array(metal.rgb) * rng.uniform(0.3, 0.7)), mirror=0.1, blotches=0.2)
        stage.draw(prism([lies_on(rng, spot, rng.uniform(0.5, 2.0))], face, face + THIN, stained, seed=seed, **base))
    for _ in range(rng.integers(0, 8)):
        spot = layout.free(3)
        if spot is not None:
            mark = circle(rng.uniform(0.15, 0.34), spot, 3 + 4 * int(rng.random() < 0.5))
            stage.draw(prism([mark], face, face + THIN, DARK, seed=seed, **base))
    for _ in range(rng.integers(0, 6)):
        a, b = (rng.uniform(-0.42, 0.42, 2) * (layout.width, layout.height) for _ in range(2))
        side = np.array([b[1] - a[1], a[0] - b[0]]) * 0.03 / np.hypot(*(b - a))
        if all(abs(np.cross(b - a, t - a)) / np.hypot(*(b - a)) > 4 for t in layout.taken):
            stage.draw(prism([np.array([a - side, b - side, b + side, a + side])[::-1]], face, face + THIN, BROWN_BRASS, seed=seed, **base))
    for p in layout.posts:
        draw_post(stage, p, face, base, seed)
    truth = truth_of(layout, name, base, turn, camera, pose)
    finish = Develop(blur_px=rng.uniform(0.55, 0.95), exposure=rng.uniform(0.62, 0.85), noise=rng.uniform(0.5, 1.8), sharpen=float(rng.choice([0.0, rng.uniform(0.2, 0.8)])),
                     white_balance=(rng.uniform(0.96, 1.05), rng.uniform(0.92, 1.05)), quality=int(rng.integers(86, 95)))  # fmt: skip
    readings = [round(150 * s * 20) / 20 for s in scale]
    save(stage, finish, lens, f"plate-{kind}-{seed}", folder, [truth], f"drawn plate, {name}", {"readings": readings})


def draw_post(stage, p, face, base, seed):
    metal = DARK_STEEL if p["dark"] else STEEL
    rim = min(0.12, p["radius"] / 5)
    top = face + max(p["up"], THIN)
    if p["up"] < 0.05:
        # Let into the face: a fine dark seam, and its own surface.
        stage.draw(prism([circle(p["radius"] + 0.03, p["at"])], face, face + THIN / 2, DARK, seed=seed, **base))
    shaft = prism([circle(p["radius"], p["at"])], face, top - (rim if p["up"] > rim else 0), metal, seed=seed + 1, **base)
    stage.add(shaft, ground=face + base["at"][2])
    if p["up"] > rim:
        stage.draw(Solid([circle(p["radius"], p["at"])], [circle(p["radius"] - rim, p["at"])], top - rim, top, metal, seed=seed + 1, **base))
    if p["slot"]:
        long, wide = 0.95 * p["radius"], 0.14 * p["radius"]
        corners = np.array([[-long, -wide], [long, -wide], [long, wide], [-long, wide]])
        stage.draw(prism([corners @ about_z(p["turn"])[:2, :2].T + p["at"]], top, top + THIN, DARK, seed=seed, **base))


def truth_of(layout, finish, base, turn, camera, pose):
    at = np.array(base["at"])

    def in_mat(point, z):
        return base["turn"] @ np.array([*point, z]) + at

    def px(point, z):
        return np.ravel(project(camera, pose, in_mat(point, z))).round(3).tolist()

    face = layout.thickness
    return {
        "label": "P1", "words": "drawn plate", "kind": "plate", "finish": finish, "tag_in_photo": False,
        "centre_mm": in_mat((0, 0), face)[:2].round(4).tolist(), "centre_px": px((0, 0), face),
        "face_height_mm": round(float(at[2] + face), 4), "thickness_mm": layout.thickness, "bevel_mm": layout.bevel,
        "width_mm": layout.width, "height_mm": layout.height, "turn_deg": turn % 360,
        "holes": [{
            "use": h["use"], "centre_mm": in_mat(h["at"], face)[:2].round(4).tolist(), "centre_px": px(h["at"], face),
            "diameter_mm": 2 * h["radius"], "ovality_mm": h["oval"],
            **({"ovality_angle_deg": (h["angle"] + turn) % 180} if h["oval"] else {}),
            **({"bush_diameter_mm": h["bush_mm"]} if "bush_mm" in h else {}),
            **({"sink_diameter_mm": 2 * h["sink_mm"], "sink_depth_mm": h["sink_depth_mm"]} if "sink_mm" in h else {}),
        } for h in layout.holes],
        "posts": [{
            "end_px": px(p["at"], face + p["up"]), "foot_px": px(p["at"], face), "diameter_mm": 2 * p["radius"],
            "up_mm": p["up"], "slotted": p["slot"], "dark": bool(p["dark"]),
        } for p in layout.posts],
    }  # fmt: skip


if __name__ == "__main__":
    if len(sys.argv) not in (5, 6):
        sys.exit(__doc__)
    sheets, out, first, count = sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4])
    for number in range(first, first + count):
        draw_plate(sheets, out, number, sys.argv[5] if len(sys.argv) == 6 else "any")
