"""Holds the truth against the finished picture: printed markers and tooth flanks must lie where the truth says.

  /usr/bin/python3 samples/render/check_truth.py --shot NAME --sheets SHEETS_DIR --jpeg FILE --truth FILE [--mask FILE] [--crops DIR]

Edges are found at half height between both sides along the edge's normal. Blur, blooming and sharpening move
opposite edges apart alike, so what is compared is the middle of a marker (from its four sides). A part's outline
is slid to where the picture's edges are strongest. Prints px; --crops writes enlarged crops with the truth drawn in.
Needs numpy and OpenCV (Debian: python3-opencv).
"""

import argparse
import json
import os
import sys

sys.dont_write_bytecode = True
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

import cv2  # noqa: E402
import numpy as np  # noqa: E402

from camera import Camera, look, project  # noqa: E402
from develop import bend  # noqa: E402
from other_parts import PARTS, plate_outline  # noqa: E402
from shots import PRINT_SCALE, SHOTS  # noqa: E402
from truth import describe, heights, in_mat  # noqa: E402
from wheel_outline import draw_outline  # noqa: E402


def linear(jpeg):
    # OpenCV applies the EXIF orientation.
    grey = cv2.cvtColor(cv2.imread(jpeg), cv2.COLOR_BGR2GRAY).astype(np.float32) / 255
    return np.where(grey <= 0.04045, grey / 12.92, ((grey + 0.055) / 1.055) ** 2.4).astype(np.float32)


def edge_along(image, at, direction, reach=5.0):
    """Distance from `at` along `direction` (px) to the crossing of half height; nan where there is no clear edge."""
    s = np.arange(-reach, reach + 0.01, 0.1)
    p = at + s[:, None] * direction
    v = cv2.remap(image, p[None, :, 0].astype(np.float32), p[None, :, 1].astype(np.float32), cv2.INTER_CUBIC)[0]
    low, high = np.median(v[:15]), np.median(v[-15:])
    if abs(high - low) < 0.12:
        return np.nan
    t = (v - low) / (high - low) - 0.5
    i = np.flatnonzero((t[:-1] < 0) & (t[1:] >= 0))
    if len(i) != 1:
        return np.nan
    i = i[0]
    return s[i] - t[i] / (t[i + 1] - t[i]) * 0.1


def side(image, camera, pose, a, b, z, samples=12):
    """Mean offset of the edge between mat points a and b, px, positive to the left of a->b in the picture."""
    found = []
    for f in np.linspace(0.15, 0.85, samples):
        p = np.append(a + f * (b - a), z)
        q = np.append(a + (f + 0.01) * (b - a), z)
        u, w = project(camera, pose, p), project(camera, pose, q)
        t = (w - u) / np.hypot(*(w - u))
        n = np.array([t[1], -t[0]])
        found.append(edge_along(image, u, n))
    found = np.array(found)
    return np.nan if np.isfinite(found).sum() < samples * 0.7 else np.nanmedian(found)


def check_markers(image, camera, pose, mat):
    across, along, growth = [], [], []
    for marker in mat["markers"]:
        c = np.array(marker["corners_mm"]) * PRINT_SCALE
        tl, tr, br, bl = c
        # Opposite sides walked the same way: their mean is the shift of the marker, half their difference its growth.
        top, bottom = side(image, camera, pose, tl, tr, 0), side(image, camera, pose, bl, br, 0)
        left, right = side(image, camera, pose, bl, tl, 0), side(image, camera, pose, br, tr, 0)
        along.append((top + bottom) / 2)
        across.append((left + right) / 2)
        growth += [(top - bottom) / 2, (left - right) / 2]
    for name, v in (("marker middle, across", across), ("marker middle, along", along), ("marker edges outwards", growth)):
        v = np.array(v)
        ok = np.isfinite(v)
        print(f"  {name:28s} n {ok.sum():3d}  mean {np.mean(v[ok]):+.3f}  sd {np.std(v[ok]):.3f}  largest {np.abs(v[ok]).max():.3f} px")


def outline_of(part):
    return plate_outline(part) if part.kind == "plate" else draw_outline(part)


def check_part(image, camera, pose, place):
    """Slides the true outline over the picture to where the edges are strongest: it should not have to move.

    Only outline that faces away from the foot point counts: there the upper, full-size edge is the outline.
    """
    wheel = PARTS[place.label]
    outline = outline_of(wheel)
    _, upper, _ = heights(wheel, place)
    p = in_mat(place, outline.outer)
    ahead = np.roll(p, -1, axis=0) - np.roll(p, 1, axis=0)
    out = np.stack([ahead[:, 1], -ahead[:, 0]], axis=-1)
    away = np.einsum("ij,ij->i", out, p - pose.centre[:2]) > 0
    u = project(camera, pose, np.column_stack([p, np.full(len(p), upper)]))
    n = project(camera, pose, np.column_stack([p + 1e-3 * out, np.full(len(p), upper)])) - u
    n /= np.maximum(np.hypot(*n.T), 1e-12)[:, None]
    length = np.hypot(*(np.roll(u, -1, axis=0) - u).T)
    u, n, length = u[away], n[away], length[away]
    span = np.arange(-2, 2.01, 0.2)
    score = np.zeros((len(span), len(span)))
    for i, dy in enumerate(span):
        for j, dx in enumerate(span):
            step = [cv2.remap(image, *np.float32((u + s * n + [dx, dy]).T[:, None]), cv2.INTER_LINEAR)[0] for s in (-0.5, 0.5)]
            score[i, j] = (np.abs(step[1] - step[0]) * length).sum()
    i, j = np.unravel_index(score.argmax(), score.shape)
    text = "edges nowhere strongest"
    if 0 < i < len(span) - 1 and 0 < j < len(span) - 1:
        dy, dx = (span[k] + 0.1 * (c[2] - c[0]) / (2 * c[1] - c[0] - c[2]) for k, c in ((i, score[i - 1 : i + 2, j]), (j, score[i, j - 1 : j + 2])))
        text = f"outline fits best moved by {dx:+.2f} {dy:+.2f} px"
    print(f"  {place.label:4s} {text}")


def check_mask(mask, camera, pose, place):
    """The same outline against the picture of the bare solids: no light, no bevels, nothing to mistake.

    Along the normal of every outline point that faces away from the foot point, by half height; then mean
    outward offset and shift by least squares.
    """
    wheel = PARTS[place.label]
    outline = outline_of(wheel)
    _, upper, _ = heights(wheel, place)
    p = in_mat(place, outline.outer)
    ahead = np.roll(p, -1, axis=0) - np.roll(p, 1, axis=0)
    out = np.stack([ahead[:, 1], -ahead[:, 0]], axis=-1)
    away = np.einsum("ij,ij->i", out, p - pose.centre[:2]) > 0
    u = project(camera, pose, np.column_stack([p, np.full(len(p), upper)]))
    n = project(camera, pose, np.column_stack([p + 1e-3 * out, np.full(len(p), upper)])) - u
    n /= np.maximum(np.hypot(*n.T), 1e-12)[:, None]
    # Flanks only: at tips and roots the outline bends within the blur.
    r = np.hypot(*(p - in_mat(place, outline.centre)).T)
    low, high = outline.root_radius, outline.tip_radius
    keep = np.flatnonzero(away & (r > low + 0.25 * (high - low)) & (r < low + 0.6 * (high - low)))
    d = np.array([edge_along(mask, u[k], n[k], reach=3.0) for k in keep])
    ok = np.isfinite(d)
    if ok.sum() < 12:
        print(f"  {place.label:4s} bare solid: too few edges")
        return
    a = np.column_stack([np.ones(ok.sum()), n[keep][ok]])
    fit, *_ = np.linalg.lstsq(a, d[ok], rcond=None)
    rest = d[ok] - a @ fit
    print(f"  {place.label:4s} bare solid, {ok.sum()} edges: outwards {fit[0]:+.3f}, moved {fit[1]:+.3f} {fit[2]:+.3f}, sd {rest.std():.3f} px")


def draw(image, points, colour, closed, zoom, origin):
    p = np.rint(((points - origin + 0.5) * zoom - 0.5) * 16).astype(np.int32)
    cv2.polylines(image, [p], closed, colour, 1, cv2.LINE_AA, shift=4)


def crops(jpeg, camera, pose, shot, flat, out):
    picture = cv2.imread(jpeg)
    os.makedirs(out, exist_ok=True)
    for place in flat:
        wheel = PARTS[place.label]
        outline = outline_of(wheel)
        _, upper, lower = heights(wheel, place)
        low = project(camera, pose, np.column_stack([in_mat(place, outline.outer), np.full(len(outline.outer), lower)]))
        high = project(camera, pose, np.column_stack([in_mat(place, outline.outer), np.full(len(outline.outer), upper)]))
        holes = [project(camera, pose, np.column_stack([in_mat(place, h), np.full(len(h), upper)])) for h in outline.holes]
        middle = high.mean(axis=0)
        tiles = []
        for angle in (40, 130, 220, 310):
            d = high - middle
            i = np.argmin(np.abs((np.degrees(np.arctan2(d[:, 1], d[:, 0])) - angle + 180) % 360 - 180))
            x0, y0 = np.rint(high[i]).astype(int) - 30
            x0, y0 = np.clip(x0, 0, camera.width - 60), np.clip(y0, 0, camera.height - 60)
            tile = cv2.resize(picture[y0 : y0 + 60, x0 : x0 + 60], None, fx=10, fy=10, interpolation=cv2.INTER_NEAREST)
            origin = np.array([x0, y0])
            draw(tile, low, (0, 160, 0), True, 10, origin)
            for h in holes:
                draw(tile, h, (255, 0, 255), True, 10, origin)
            draw(tile, high, (0, 0, 255), True, 10, origin)
            tiles.append(tile)
        cv2.imwrite(os.path.join(out, f"{shot.name}-{place.label}.png"), np.hstack(tiles))


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--shot", required=True, choices=sorted(SHOTS))
    parser.add_argument("--sheets", required=True)
    parser.add_argument("--jpeg", required=True)
    parser.add_argument("--truth", required=True)
    parser.add_argument("--mask", help="NAME.mask.npy of render.py --mask")
    parser.add_argument("--crops")
    args = parser.parse_args()
    shot = SHOTS[args.shot]
    camera = Camera.of(shot.lens, *shot.size)
    pose = look(shot.foot, shot.distance, shot.tilt, shot.tilt_towards, shot.roll)
    with open(args.truth) as f:
        if json.load(f) != json.loads(json.dumps(describe(shot))):
            sys.exit(f"{args.truth} is not what shots.py says now: make the sample again")
    image = linear(args.jpeg)
    if image.shape != (camera.height, camera.width):
        sys.exit(f"{args.jpeg}: expected {camera.width} x {camera.height}, received {image.shape[1]} x {image.shape[0]}")
    print(shot.name)
    if shot.mat:
        with open(os.path.join(args.sheets, "sheets.json")) as f:
            check_markers(image, camera, pose, json.load(f)["mats"][shot.mat])
    # Pinions are drawn straight in mesh coordinates and have no outline of this kind.
    flat = [place for place in shot.places if PARTS[place.label].kind != "pinion"]
    for place in flat:
        check_part(image, camera, pose, place)
    if args.mask:
        straight = np.load(args.mask)
        mask = np.ascontiguousarray(bend(np.broadcast_to(straight, (*straight.shape[:2], 3)), camera)[..., 0])
        for place in (p for p in flat if PARTS[p.label].kind != "plate"):
            check_mask(mask, camera, pose, place)
    if args.crops:
        crops(args.jpeg, camera, pose, shot, flat, args.crops)
