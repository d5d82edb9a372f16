"""Verifies circle-fits.json with numpy and scipy alone: python3 check.py"""

import itertools
import json
import pathlib

import numpy as np
from scipy.optimize import least_squares

data = json.loads((pathlib.Path(__file__).parent / "circle-fits.json").read_text())


def distances(points, centre):
    return np.hypot(points[:, 0] - centre[0], points[:, 1] - centre[1])


def circle(points):
    start = [*points.mean(axis=0), distances(points, points.mean(axis=0)).mean()]
    fit = least_squares(lambda p: distances(points, p[:2]) - p[2], start, xtol=1e-15, ftol=1e-15, gtol=1e-15)
    return fit.x


def circumcentre(p, q, r):
    a = 2 * np.array([q - p, r - p])
    b = np.array([q @ q - p @ p, r @ r - p @ p])
    return np.linalg.solve(a, b) if abs(np.linalg.det(a)) > 1e-12 else None


def zone_centres(points):
    """Centres with two points at one distance and two at another."""
    pairs = list(itertools.combinations(range(len(points)), 2))
    normal = np.array([2 * (points[j] - points[i]) for i, j in pairs])
    level = np.array([points[j] @ points[j] - points[i] @ points[i] for i, j in pairs])
    for k in range(len(pairs)):
        for l in range(k):
            a = np.array([normal[k], normal[l]])
            if abs(np.linalg.det(a)) > 1e-9:
                yield np.linalg.solve(a, [level[k], level[l]])


def check(what, got, expected, tolerance):
    worst = float(np.max(np.abs(np.asarray(got) - np.asarray(expected))))
    assert worst <= tolerance, f"{what}: {got} against {expected}"
    print(f"{what}: within {worst:.1e}")


g = data["ganderGolubStrebelCircle"]
fit = circle(np.array(g["points"], float))
check("geometric circle", fit, [*g["geometric"]["centre"], g["geometric"]["radius"]], 3e-6)

for s in data["exactCircles"]:
    points = np.array(s["points"])
    d = points - s["centre"]
    r = np.hypot(d[:, 0], d[:, 1])
    residual = r - s["radius"]
    gradient = [residual @ (d[:, 0] / r), residual @ (d[:, 1] / r), residual.sum()]
    check(f"gradient, {s['name']}", gradient, [0, 0, 0], 1e-11 * len(points) * s["radius"])
    check(f"rms, {s['name']}", np.sqrt(np.mean(residual**2)), s["rmsResidual"], 1e-12)

e = data["ganderGolubStrebelEllipse"]
points = np.array(e["points"], float)


def ellipse_residuals(p):
    c, s = np.cos(p[4]), np.sin(p[4])
    t = p[5:]
    x = p[0] + c * p[2] * np.cos(t) - s * p[3] * np.sin(t)
    y = p[1] + s * p[2] * np.cos(t) + c * p[3] * np.sin(t)
    return np.concatenate([points[:, 0] - x, points[:, 1] - y])


best = None
rng = np.random.default_rng(1)
for _ in range(60):
    centre = points.mean(axis=0) + rng.normal(size=2)
    start = [*centre, *rng.uniform(1, 6, 2), rng.uniform(0, np.pi)]
    t0 = np.arctan2(points[:, 1] - centre[1], points[:, 0] - centre[0]) - start[4]
    fit = least_squares(ellipse_residuals, [*start, *t0], xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=2000)
    if best is None or fit.cost < best.cost:
        best = fit
check("ellipse, residual norm", np.sqrt(2 * best.cost), e["geometric"]["residualNorm"], 1e-6)
check("ellipse, centre", best.x[:2], e["geometric"]["centre"], 1e-4)
check("ellipse, axes", sorted(np.abs(best.x[2:4])), [e["geometric"]["b"], e["geometric"]["a"]], 1e-4)

p = data["sixteenPointProfile"]
points = np.array(p["points"])
fit = circle(points)
check("profile, least squares", fit, [*p["leastSquares"]["centre"], p["leastSquares"]["radius"]], 1e-6)
centres = list(zone_centres(points))
centres += [c for t in itertools.combinations(points, 3) if (c := circumcentre(*t)) is not None]
spans = [np.ptp(distances(points, c)) for c in centres]
check("profile, zone", [*centres[int(np.argmin(spans))], min(spans)], [*p["minimumZone"]["centre"], p["minimumZone"]["deviation"]], 1e-9)
largest = min((distances(points, c).max(), *c) for c in centres)
check("profile, circumscribed", largest, [p["minimumCircumscribed"]["radius"], *p["minimumCircumscribed"]["centre"]], 1e-9)
near = [c for c in centres if np.hypot(*(c - fit[:2])) < 1]
smallest = max((distances(points, c).min(), *c) for c in near)
check("profile, inscribed", smallest, [p["maximumInscribed"]["radius"], *p["maximumInscribed"]["centre"]], 1e-9)
