"""A second way to make photographs with known truth: flat-sided solids over the printed mat, drawn by painter's algorithm.

Nothing is traced. A solid is a prism or a stump between two outlines; its walls are four-cornered pieces, each of one
light, drawn from the far ones to the near ones, and its end over them. What only one renderer's light makes possible
shows when the other's pictures are read. Frames and camera are those of samples/render/camera.py: millimetres, mat
origin in the middle of the sheet, z towards the camera; pixel (0, 0) is the centre of the top-left pixel.

Needs numpy and cv2 (Debian: python3-numpy, python3-opencv), and a folder of rasters made by
`npx tsx samples/render/sheet-texture.ts FOLDER` (Debian: poppler-utils).
"""

import json
import os
import subprocess
import sys
from dataclasses import dataclass, field

import cv2
import numpy as np

sys.dont_write_bytecode = True
PROJECT = os.path.abspath(os.path.join(os.path.dirname(__file__), "..", ".."))
sys.path.insert(0, os.path.join(PROJECT, "samples", "render"))

from camera import LENS_A, LENS_A_ZOOM, LENS_B, Camera, Pose, look, normalised, project  # noqa: E402, F401

FINE = 4
"""Solids are drawn this many times finer than the picture, and averaged."""
SHIFT = 6
"""Binary places behind the point of the corners that cv2 is given."""


@dataclass(frozen=True)
class Metal:
    """Linear light of a face that a white sheet beside it would show as 1."""

    rgb: tuple[float, float, float]
    mirror: float = 0.5
    """0: matt; 1: shows the room."""
    streaks: float = 0.08
    """Spread of the light along the lines of a brushed face."""
    blotches: float = 0.05
    """Spread of the light from spot to spot."""


BRASS = Metal((0.56, 0.42, 0.17))
BRIGHT_BRASS = Metal((0.78, 0.62, 0.30), mirror=0.8, streaks=0.12)
DULL_BRASS = Metal((0.33, 0.25, 0.13), mirror=0.25, blotches=0.15)
BROWN_BRASS = Metal((0.19, 0.14, 0.09), mirror=0.15, blotches=0.25)
NICKEL = Metal((0.50, 0.48, 0.44), mirror=0.6)
STEEL = Metal((0.30, 0.30, 0.31), mirror=0.7, streaks=0.15)
DARK_STEEL = Metal((0.11, 0.11, 0.12), mirror=0.4)


@dataclass(frozen=True)
class Room:
    """One lamp or window, and the light that comes from everywhere."""

    lamp: tuple[float, float, float] = (0.4, 0.5, 0.77)
    """Direction towards it; need not be of length 1."""
    lamp_share: float = 0.45
    """Of the light on the sheet."""
    softness: float = 0.15
    """Width of the lamp over its distance: penumbra, mm a mm of height."""
    tint: tuple[float, float, float] = (1.0, 1.0, 1.0)
    slope: tuple[float, float] = (0.0, 0.0)
    """Light grows by this share from the middle of the picture to its right, its lower edge."""

    @property
    def towards(self):
        lamp = np.array(self.lamp, float)
        return lamp / np.linalg.norm(lamp)

    def seen_along(self, direction):
        """What a mirror shows that looks along `direction` (..., 3): sheet below, room above, the lamp in it."""
        d = np.asarray(direction, float)
        up = d[..., 2]
        lamp = np.clip(d @ self.towards, 0, 1) ** (4 / max(self.softness, 0.05))
        return np.where(up < 0, 0.75, 0.55 + 0.35 * up) * (1 - self.lamp_share) + self.lamp_share * (0.25 + 3.0 * lamp)


@dataclass(frozen=True)
class Develop:
    blur_px: float = 0.7
    exposure: float = 0.82
    """Code value, linear, of paper in full light."""
    noise: float = 1.0
    sharpen: float = 0.0
    white_balance: tuple[float, float] = (1.0, 1.0)
    vignette: float = 0.1
    quality: int = 90


@dataclass
class Solid:
    """Between two outlines of the same corners, in a frame of its own whose z is the axis.

    Outlines: (n, 2) each, metal on the left (outer ones counter-clockwise, holes clockwise), the first is the outer one.
    """

    lower: list
    upper: list
    low: float
    high: float
    metal: Metal
    turn: np.ndarray = field(default_factory=lambda: np.eye(3))
    """Rotation from its own frame to the mat's."""
    at: tuple = (0.0, 0.0, 0.0)
    seed: int = 0
    wall: Metal | None = None
    """Where it is unlike the face."""

    def placed(self, outline, z):
        points = np.column_stack([outline, np.full(len(outline), z)])
        return points @ self.turn.T + np.asarray(self.at, float)


def prism(outlines, low, high, metal, **rest):
    return Solid(list(outlines), list(outlines), low, high, metal, **rest)


def circle(radius, centre=(0.0, 0.0), corners=96, hole=False):
    a = np.linspace(0, 2 * np.pi, corners, endpoint=False) * (-1 if hole else 1)
    return np.column_stack([centre[0] + radius * np.cos(a), centre[1] + radius * np.sin(a)])


def about_z(degrees):
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]])


def leaning(degrees, towards):
    """Turns z by `degrees` so that the disc's rim is lowest towards `towards` degrees of the mat."""
    return about_z(towards) @ np.array(
        [[np.cos(np.radians(degrees)), 0, np.sin(np.radians(degrees))], [0, 1, 0], [-np.sin(np.radians(degrees)), 0, np.cos(np.radians(degrees))]]
    )  # fmt: skip


class Stage:
    def __init__(self, camera: Camera, pose: Pose, room: Room, rasters: str, seed: int, paper="a4", print_scale=(1.0, 1.0)):
        self.camera, self.pose, self.room, self.rasters = camera, pose, room, rasters
        self.rng = np.random.default_rng(seed)
        self.paper, self.print_scale = paper, print_scale
        with open(os.path.join(rasters, "sheets.json")) as f:
            self.sheets = json.load(f)
        self.light = self._sheet()

    @property
    def eye(self):
        return np.asarray(self.pose.centre, float)

    def px_per_mm(self, point):
        here = project(self.camera, self.pose, np.asarray(point, float))
        return float(np.mean([np.hypot(*(project(self.camera, self.pose, np.asarray(point, float) + d) - here)) for d in ([1, 0, 0], [0, 1, 0])]))

    def _onto(self, u, v, origin, normal):
        """Points (..., 3) of a plane that pixels see."""
        x, y = normalised(self.camera, u, v)
        rays = np.stack([x, y, np.ones_like(x)], axis=-1) @ self.pose.rotation
        normal = np.asarray(normal, float)
        t = ((np.asarray(origin, float) - self.eye) @ normal) / (rays @ normal)
        return self.eye + rays * t[..., None]

    def _sheet(self):
        """Linear light of the bare sheet, twice as fine as the picture, averaged."""
        page = cv2.imread(os.path.join(self.rasters, f"mat-{self.paper}.png"), cv2.IMREAD_GRAYSCALE).astype(np.float32) / 255
        page = 0.05 + 0.95 * np.where(page <= 0.04045, page / 12.92, ((page + 0.055) / 1.055) ** 2.4)
        width, height = self.sheets["mats"][self.paper]["size_mm"]
        dots = page.shape[1] / width
        bench = np.array([0.16, 0.12, 0.09], np.float32) * self.rng.uniform(0.6, 1.5)
        tooth = cv2.GaussianBlur(self.rng.standard_normal((700, 700)).astype(np.float32), (0, 0), 1.2) * 0.03
        out = np.empty((self.camera.height, self.camera.width, 3), np.float32)
        for top in range(0, self.camera.height, 128):
            rows = min(128, self.camera.height - top)
            v, u = np.meshgrid(np.arange(top, top + rows, dtype=float), np.arange(self.camera.width, dtype=float), indexing="ij")
            mat = self._onto(u, v, (0, 0, 0), (0, 0, 1))[..., :2].astype(np.float32)
            mat = cv2.resize(mat, None, fx=2, fy=2, interpolation=cv2.INTER_LINEAR)
            px = (mat[..., 0] / self.print_scale[0] + width / 2) * dots - 0.5
            py = (height / 2 - mat[..., 1] / self.print_scale[1]) * dots - 0.5
            seen = cv2.remap(page, px, py, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=-1.0)
            grain = cv2.remap(tooth, mat[..., 0] * 3 % 699, mat[..., 1] * 3 % 699, cv2.INTER_LINEAR)
            colour = np.where(seen[..., None] < 0, bench, seen[..., None] * np.array([1.0, 0.99, 0.97], np.float32)) * (1 + grain[..., None])
            out[top : top + rows] = cv2.resize(colour.astype(np.float32), (self.camera.width, rows), interpolation=cv2.INTER_AREA)
        return out

    def card(self, label, centre, turn_deg=0.0):
        """Lays the part tag `label` on the sheet: flat, without thickness."""
        page = cv2.imread(os.path.join(self.rasters, "tags.png"), cv2.IMREAD_GRAYSCALE).astype(np.float32) / 255
        width, height = self.sheets["tags_page_mm"]
        dots = page.shape[1] / width
        (x0, y0), (x1, y1) = self.sheets["cards"][label]["from_mm"], self.sheets["cards"][label]["to_mm"]
        x0, x1, y0, y1 = min(x0, x1), max(x0, x1), min(y0, y1), max(y0, y1)
        half = np.array([(x1 - x0) / 2, (y1 - y0) / 2])
        turn = about_z(turn_deg)[:2, :2]
        corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half @ turn.T + centre
        box = self._box(project(self.camera, self.pose, np.column_stack([corners, np.zeros(4)])), 4)
        if box is None:
            return
        left, top, right, bottom = box
        v, u = np.meshgrid((np.arange(2 * (bottom - top)) + 0.5) / 2 - 0.5 + top, (np.arange(2 * (right - left)) + 0.5) / 2 - 0.5 + left, indexing="ij")
        own = (self._onto(u, v, (0, 0, 0), (0, 0, 1))[..., :2] - centre) @ turn
        px = (own[..., 0] + (x0 + x1) / 2 + width / 2) * dots - 0.5
        py = (height / 2 - own[..., 1] - (y0 + y1) / 2) * dots - 0.5
        seen = cv2.remap(page, px.astype(np.float32), py.astype(np.float32), cv2.INTER_LINEAR)
        seen = 0.05 + 0.95 * np.where(seen <= 0.04045, seen / 12.92, ((seen + 0.055) / 1.055) ** 2.4)
        inside = ((np.abs(own) <= half).all(axis=-1)).astype(np.float32)
        size = (right - left, bottom - top)
        cover = cv2.resize(inside, size, interpolation=cv2.INTER_AREA)[..., None]
        face = cv2.resize((seen * inside).astype(np.float32), size, interpolation=cv2.INTER_AREA)[..., None]
        part = self.light[top:bottom, left:right]
        part[:] = part * (1 - cover) + face

    def _box(self, pixels, margin):
        left, top = np.floor(pixels.min(axis=0) - margin).astype(int)
        right, bottom = np.ceil(pixels.max(axis=0) + margin + 1).astype(int)
        left, top = max(left, 0), max(top, 0)
        right, bottom = min(right, self.camera.width), min(bottom, self.camera.height)
        return (left, top, right, bottom) if right - left > 1 and bottom - top > 1 else None

    def shadow(self, solid: Solid, ground=0.0, depth=1.0):
        """Of a solid on the plane `ground` mm up: the lamp's, and the room's light that it keeps off close by."""
        towards = self.room.towards
        below, above = [[solid.placed(o, z) for o in outlines] for outlines, z in ((solid.lower, solid.low), (solid.upper, solid.high))]
        top = max(float(np.max(p[:, 2])) for p in above + below)
        if top <= ground:
            return

        def dropped(points):
            fall = np.maximum(points[:, 2:] - ground, 0)
            flat = points - towards * fall / max(towards[2], 0.2)
            flat[:, 2] = ground
            return flat

        def straight(points):
            flat = points.copy()
            flat[:, 2] = ground
            return flat

        mean = max(np.mean([p[:, 2].mean() for p in above]) - ground, 0.05)
        here = self.px_per_mm([*above[0][:, :2].mean(axis=0), ground])
        for flatten, soft_mm, share in (
            (dropped, 0.5 * self.room.softness * mean, self.room.lamp_share),
            (straight, 0.8 * mean, 0.45 * (1 - self.room.lamp_share)),
        ):
            lower, upper = [[project(self.camera, self.pose, flatten(p)) for p in side] for side in (below, above)]
            sigma = max(soft_mm * here, 0.6)
            box = self._box(np.concatenate(lower + upper), 4 * sigma + 2)
            if box is None:
                continue
            mask = self._mask(box, 2, [lower, upper], zip(lower, upper))
            mask = cv2.resize(mask, (box[2] - box[0], box[3] - box[1]), interpolation=cv2.INTER_AREA)
            mask = cv2.GaussianBlur(mask, (0, 0), sigma)
            self.light[box[1] : box[3], box[0] : box[2]] *= (1 - depth * share * mask)[..., None]

    def _mask(self, box, fine, ends, sides):
        left, top, right, bottom = box
        mask = np.zeros(((bottom - top) * fine, (right - left) * fine), np.float32)
        for end in ends:
            cv2.fillPoly(mask, [self._corners(p, box, fine) for p in end], 1.0, cv2.LINE_8, SHIFT)
        for low, high in sides:
            for k in range(len(low)):
                quad = np.array([low[k], low[k - 1], high[k - 1], high[k]])
                cv2.fillConvexPoly(mask, cv2.convexHull(self._corners(quad, box, fine)), 1.0, cv2.LINE_8, SHIFT)
        return mask

    @staticmethod
    def _corners(pixels, box, fine):
        # Pixel (0, 0) of the fine picture has its centre half a fine pixel from the corner.
        fine_px = (pixels - [box[0], box[1]] + 0.5) * fine - 0.5
        return np.rint(fine_px * (1 << SHIFT)).astype(np.int32)

    def draw(self, solid: Solid):
        lower = [solid.placed(o, solid.low) for o in solid.lower]
        upper = [solid.placed(o, solid.high) for o in solid.upper]
        axis = solid.turn[:, 2]
        seen_low, seen_high = [[project(self.camera, self.pose, p) for p in side] for side in (lower, upper)]
        box = self._box(np.concatenate(seen_low + seen_high), 2)
        if box is None:
            return
        left, top, right, bottom = box
        fine = cv2.resize(self.light[top:bottom, left:right], None, fx=FINE, fy=FINE, interpolation=cv2.INTER_NEAREST)
        walls = []
        for low, high, px_low, px_high in zip(lower, upper, seen_low, seen_high):
            for k in range(len(low)):
                a, b, c, d = low[k - 1], low[k], high[k], high[k - 1]
                normal = np.cross(b - a, d - a) + np.cross(c - d, c - b)
                size = np.linalg.norm(normal)
                if size < 1e-9:
                    continue
                middle, normal = (a + b + c + d) / 4, normal / size
                to_eye = self.eye - middle
                if normal @ to_eye <= 0:
                    continue
                quad = np.array([px_low[k - 1], px_low[k], px_high[k], px_high[k - 1]])
                walls.append((np.linalg.norm(to_eye), quad, self._shade(solid.wall or solid.metal, normal, to_eye)))
        for _, quad, shade in sorted(walls, key=lambda wall: -wall[0]):
            cv2.fillConvexPoly(fine, cv2.convexHull(self._corners(quad, box, FINE)), shade.tolist(), cv2.LINE_8, SHIFT)
        for end, seen, normal in ((upper, seen_high, axis), (lower, seen_low, -axis)):
            if normal @ (self.eye - end[0].mean(axis=0)) > 0:
                self._face(fine, box, solid, end, seen, normal)
        self.light[top:bottom, left:right] = cv2.resize(fine, (right - left, bottom - top), interpolation=cv2.INTER_AREA)

    def _shade(self, metal: Metal, normal, to_eye):
        """Of a flat piece: what it mirrors, and what falls on it."""
        view = to_eye / np.linalg.norm(to_eye, axis=-1, keepdims=True)
        cosine = np.sum(view * normal, axis=-1, keepdims=True)
        mirrored = self.room.seen_along(2 * cosine * normal - view)
        falls = (1 - self.room.lamp_share) * (0.7 + 0.3 * normal[2]) + self.room.lamp_share * np.maximum(normal @ self.room.towards, 0)
        light = metal.mirror * mirrored + (1 - metal.mirror) * falls
        return np.asarray(light)[..., None] * np.array(metal.rgb)

    def _face(self, fine, box, solid: Solid, end, seen, normal):
        left, top, right, bottom = box
        v, u = np.meshgrid(np.arange(top, bottom, dtype=float), np.arange(left, right, dtype=float), indexing="ij")
        points = self._onto(u, v, end[0][0], normal)
        shade = self._shade(solid.metal, normal, self.eye - points)
        own = (points - np.asarray(solid.at, float)) @ solid.turn
        shade = shade * (1 + self._texture(solid, own))[..., None]
        corners = [self._corners(p, box, FINE) for p in seen]
        height, width = fine.shape[:2]
        frame = (np.array([[-1, -1], [width, -1], [width, height], [-1, height]]) << SHIFT).astype(np.int32)
        inside, outside = np.zeros((height, width), np.uint8), np.zeros((height, width), np.uint8)
        cv2.fillPoly(inside, corners, 1, cv2.LINE_8, SHIFT)
        cv2.fillPoly(outside, [frame, *corners], 1, cv2.LINE_8, SHIFT)
        # What is filled takes in the pixels of its edge: half of them belong to the other side.
        cover = (0.5 + 0.5 * (inside.astype(np.float32) - outside))[..., None]
        wide = cv2.resize(np.maximum(shade, 0.005).astype(np.float32), (width, height), interpolation=cv2.INTER_LINEAR)
        fine += cover * (wide - fine)

    @staticmethod
    def _texture(solid: Solid, own):
        """Streaks along x and blotches, by place on the face, about 0."""
        rng = np.random.default_rng(solid.seed + 77)
        lines = cv2.GaussianBlur(rng.standard_normal((512, 512)).astype(np.float32), (0, 0), sigmaX=30, sigmaY=0.8)
        spots = cv2.GaussianBlur(rng.standard_normal((512, 512)).astype(np.float32), (0, 0), 9)
        total = 0
        for noise, spread, per_mm in ((lines, solid.metal.streaks, 12), (spots, solid.metal.blotches, 6)):
            at = (own[..., :2] * per_mm + 5000) % 511
            total = total + spread * cv2.remap(noise / noise.std(), at[..., 0].astype(np.float32), at[..., 1].astype(np.float32), cv2.INTER_LINEAR)
        return total

    def add(self, solid: Solid, ground=0.0):
        self.shadow(solid, ground)
        self.draw(solid)

    def develop(self, how: Develop):
        """8-bit sRGB (height, width, 3)."""
        height, width = self.light.shape[:2]
        v, u = np.meshgrid(np.linspace(-1, 1, height, dtype=np.float32), np.linspace(-1, 1, width, dtype=np.float32), indexing="ij")
        shine = 1 + self.room.slope[0] * u + self.room.slope[1] * v - how.vignette * 0.5 * (u * u + v * v)
        gains = np.array([how.white_balance[0], 1.0, how.white_balance[1]], np.float32) * np.array(self.room.tint, np.float32)
        light = cv2.GaussianBlur(self.light, (0, 0), max(how.blur_px, 0.05)) * shine[..., None] * gains * how.exposure
        noise = self.rng.standard_normal(light.shape).astype(np.float32)
        noise = cv2.GaussianBlur(noise, (0, 0), 0.5) * 1.4
        light += noise * np.sqrt(2.5e-4 * np.clip(light, 0, 4) + 3e-6) * how.noise
        # A shoulder above 0.8, so that highlights do not end at once.
        light = np.where(light > 0.8, 0.8 + 0.2 * np.tanh((light - 0.8) / 0.2), np.maximum(light, 0))
        code = np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-6) ** (1 / 2.4) - 0.055)
        if how.sharpen:
            code += how.sharpen * (code - cv2.GaussianBlur(code, (0, 0), 1.2))
        return np.clip(np.rint(code * 255), 0, 255).astype(np.uint8)


def save(stage: Stage, how: Develop, lens, name, folder, parts, words, more=None):
    """FOLDER/photos/NAME.jpg with camera data, and FOLDER/truth/NAME.json (format: samples/README.md)."""
    for sub in ("photos", "truth"):
        os.makedirs(os.path.join(folder, sub), exist_ok=True)
    raw = os.path.join(folder, f"{name}.rgb")
    stage.develop(how).tofile(raw)
    camera = stage.camera
    shot = {
        "width_px": camera.width, "height_px": camera.height, "exif_orientation": 1, "quality": how.quality,
        "camera": lens.name, "focal_length_mm": lens.focal_length_mm, "focal_length_35mm": lens.focal_length_35mm,
        "taken": "2025:02:03 10:00:00",
    }  # fmt: skip
    with open(os.path.join(folder, f"{name}.shot.json"), "w") as f:
        json.dump(shot, f)
    encode = ["npx", "tsx", os.path.join(PROJECT, "samples", "render", "encode.ts"), folder, name, os.path.join(folder, "photos")]
    subprocess.run(encode, check=True, cwd=PROJECT)
    os.remove(raw)
    os.remove(os.path.join(folder, f"{name}.shot.json"))
    truth = {
        "schema": "wheelsurvey/sample-truth/1",
        "note": "drawn, not a photograph; invented parts",
        "photo": f"{name}.jpg", "words": words,
        "width_px": camera.width, "height_px": camera.height, "exif_orientation": 1,
        "mat": stage.paper, "print_scale": list(stage.print_scale),
        "camera": {"fx_px": camera.f, "fy_px": camera.f, "cx_px": camera.cx, "cy_px": camera.cy, "k1": camera.k1, "k2": camera.k2},
        "mat_to_camera": {"rotation": stage.pose.rotation.ravel().tolist(), "translation_mm": stage.pose.translation.tolist()},
        "camera_centre_mm": stage.eye.tolist(), "foot_point_mm": stage.eye[:2].tolist(),
        "added_blur_px": how.blur_px,
        "parts": parts, **(more or {}),
    }  # fmt: skip
    with open(os.path.join(folder, "truth", f"{name}.json"), "w") as f:
        json.dump(truth, f, indent=1)
