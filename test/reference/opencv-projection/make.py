"""Writes projection.json: cv2.projectPoints, cv2.Rodrigues and cv2.undistortPoints on seeded cameras.

Run with Debian's python3-opencv: /usr/bin/python3 make.py
"""
import json
import os

import cv2
import numpy as np

rng = np.random.default_rng(20260101)
cases = []
for number in range(12):
    width, height = 4000, 3000
    f = rng.uniform(0.6, 1.2) * width
    k = np.array([[f, 0, width / 2 + rng.normal(0, 40)], [0, f * (1 + rng.normal(0, 0.001)), height / 2 + rng.normal(0, 40)], [0, 0, 1]])
    tangential = rng.normal(0, 0.001, 2) if number % 2 else np.zeros(2)
    dist = np.array([rng.uniform(-0.3, 0.1), rng.uniform(-0.1, 0.1), *tangential])
    rvec = np.array([np.pi, 0, 0]) + rng.normal(0, 0.25, 3)
    tvec = np.array([rng.normal(0, 10), rng.normal(0, 10), rng.uniform(300, 600)])
    points = np.column_stack([rng.uniform(-100, 100, 8), rng.uniform(-140, 140, 8), rng.uniform(0, 30, 8)])
    pixels, _ = cv2.projectPoints(points, rvec, tvec, k, dist)
    criteria = (cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 200, 1e-15)
    normalised = cv2.undistortPointsIter(pixels, k, dist, None, None, criteria)
    rotation, _ = cv2.Rodrigues(rvec)
    cases.append({
        "fx": k[0, 0], "fy": k[1, 1], "cx": k[0, 2], "cy": k[1, 2],
        "k1": dist[0], "k2": dist[1], "p1": dist[2], "p2": dist[3],
        "rvec": rvec.tolist(), "rotation": rotation.ravel().tolist(), "tvec": tvec.tolist(),
        "points": points.tolist(), "pixels": pixels.reshape(-1, 2).tolist(),
        "normalised": normalised.reshape(-1, 2).tolist(),
    })
with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "projection.json"), "w") as out:
    json.dump({"opencv": cv2.__version__, "cases": cases}, out, indent=1)
