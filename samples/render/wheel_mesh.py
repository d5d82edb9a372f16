"""Solids as plain arrays: vertices (n, 3) in mm and faces. Runs inside Blender (mathutils cuts the faces)."""

import numpy as np
from mathutils import Vector
from mathutils.geometry import delaunay_2d_cdt

from wheel_outline import Outline


def inward_normals(p):
    """Unit normals of a closed outline with the metal on its left, pointing into the metal."""
    edge = np.roll(p, -1, axis=0) - p
    edge /= np.hypot(*edge.T)[:, None]
    t = edge + np.roll(edge, 1, axis=0)
    t /= np.maximum(np.hypot(*t.T), 1e-9)[:, None]
    return np.stack([-t[:, 1], t[:, 0]], axis=-1)


def inscribed_radius(p, normal, reach=100):
    """Radius of the greatest disc inside the metal that touches the outline at each point.

    A bevel can go no deeper: at a narrow tooth tip both bevels meet in a ridge below the face. Only `reach`
    points to either side are looked at: more than a tooth, while rims and arms are far thicker than a bevel.
    """
    n = len(p)
    reach = min(reach, (n - 1) // 2)
    near = (np.arange(n)[:, None] + np.concatenate([np.arange(-reach, 0), np.arange(1, reach + 1)])) % n
    d = p[near] - p[:, None]
    along = np.einsum("ijk,ik->ij", d, normal)
    square = np.einsum("ijk,ijk->ij", d, d)
    with np.errstate(divide="ignore", invalid="ignore"):
        r = np.where(along > 1e-4, square / (2 * along), np.inf)
    return r.min(axis=1)


def inset(p, depth):
    """Outline moved into the metal by `depth` where there is room; also how far each point went."""
    n = inward_normals(p)
    went = np.minimum(depth, inscribed_radius(p, n))
    return p + n * went[:, None], went


def wheel_solid(outline: Outline, thickness, chamfer, under_chamfer=0.03):
    """(vertices, faces) of the wheel, its lower face on z = 0 and its upper on z = thickness.

    Bevels of 45 degrees; the full-size outline lies between `under_chamfer` and `thickness - chamfer`.
    """
    vertices, faces, tops = [], [], []
    count = 0
    loops = [outline.outer, *outline.holes]
    for p in loops:
        low, went_low = inset(p, under_chamfer)
        top, went = inset(p, chamfer)
        n = len(p)
        rings = [
            np.column_stack([low, under_chamfer - went_low]),
            np.column_stack([p, np.full(n, under_chamfer)]),
            np.column_stack([p, np.full(n, thickness - chamfer)]),
            np.column_stack([top, thickness - chamfer + went]),
        ]
        i = np.arange(n)
        j = (i + 1) % n
        for level, ring in enumerate(rings):
            vertices.append(ring)
            if level:
                a, b = count + (level - 1) * n, count + level * n
                # Metal is on the left, so this order turns the faces outwards.
                faces += np.stack([a + i, a + j, b + j, b + i], axis=-1).tolist()
        count += 4 * n
        tops.append(top[went > chamfer * 0.999])
    cap, triangles = _fill(tops)
    vertices.append(np.column_stack([cap, np.full(len(cap), thickness)]))
    faces += (triangles + count).tolist()
    return np.concatenate(vertices), faces


def _fill(loops):
    """Triangles (m, 3), counter-clockwise, between the first outline and the holes."""
    points, edges, start = [], [], 0
    for loop in loops:
        n = len(loop)
        points += [Vector((float(x), float(y))) for x, y in loop]
        edges += [(start + i, start + (i + 1) % n) for i in range(n)]
        start += n
    out, _, found, *_ = delaunay_2d_cdt(points, edges, [], 0, 1e-7)
    xy = np.array([(v.x, v.y) for v in out])
    t = np.array([f for f in found if len(f) == 3])
    a, b, c = xy[t[:, 0]], xy[t[:, 1]], xy[t[:, 2]]
    area = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    t = np.where((area < 0)[:, None], t[:, ::-1], t)
    middle = (a + b + c) / 3
    inside = _winding(middle, loops[0])
    for hole in loops[1:]:
        inside &= ~_winding(middle, hole)
    return xy, t[inside & (np.abs(area) > 1e-12)]


def _winding(q, loop):
    """Which of the points q (n, 2) lie inside the loop: crossings of a ray to +x."""
    inside = np.zeros(len(q), bool)
    x0, y0 = loop.T
    x1, y1 = np.roll(loop, -1, axis=0).T
    box = (q[:, 0] <= loop[:, 0].max()) & (q[:, 1] >= loop[:, 1].min()) & (q[:, 1] <= loop[:, 1].max())
    for k in np.array_split(np.flatnonzero(box), max(1, int(box.sum() // 500))):
        y, x = q[k, 1, None], q[k, 0, None]
        cross = (y0 > y) != (y1 > y)
        with np.errstate(divide="ignore", invalid="ignore"):
            at = x0 + (y - y0) * (x1 - x0) / (y1 - y0)
        inside[k] = (cross & (at > x)).sum(axis=1) % 2 == 1
    return inside


def turned(profile, segments=96):
    """Solid of revolution about z from (radius, z) pairs, lowest first; each pair of equal points is a sharp edge."""
    a = 2 * np.pi * np.arange(segments) / segments
    rings = [np.column_stack([r * np.cos(a), r * np.sin(a), np.full(segments, z)]) for r, z in profile]
    faces = []
    i = np.arange(segments)
    j = (i + 1) % segments
    for level in range(1, len(profile)):
        p, q = (level - 1) * segments, level * segments
        faces += np.stack([p + i, p + j, q + j, q + i], axis=-1).tolist()
    faces.append((len(profile) - 1) * segments + i)
    faces[-1] = faces[-1].tolist()
    return np.concatenate(rings), faces


def pinion_leaves(leaves, module, z0, z1):
    """Cut pinion: radial flanks, half-round leaves (common practice, no source); (vertices, faces)."""
    pitch = leaves * module / 2
    half = 1.05 * module / 2 / pitch
    root = pitch - 1.25 * module
    out = []
    for k in range(leaves):
        c = 2 * np.pi * k / leaves
        s = np.linspace(-np.pi / 2, np.pi / 2, 13)
        head = np.column_stack([pitch + 0.525 * module * np.cos(s), half * np.sin(s)])
        polar = np.concatenate([[[root, -half]], head, [[root, half]]])
        out.append(np.column_stack([polar[:, 0], polar[:, 1] + c]))
    polar = np.concatenate(out)
    p = np.column_stack([polar[:, 0] * np.cos(polar[:, 1]), polar[:, 0] * np.sin(polar[:, 1])])
    n = len(p)
    i = np.arange(n)
    j = (i + 1) % n
    faces = np.stack([i, j, n + j, n + i], axis=-1).tolist() + [(n + i).tolist()]
    return np.concatenate([np.column_stack([p, np.full(n, z0)]), np.column_stack([p, np.full(n, z1)])]), faces
