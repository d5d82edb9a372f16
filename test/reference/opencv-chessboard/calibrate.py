"""Writes calibration.json: cv2.calibrateCamera on corners.json with the lens terms k1, k2 only.

Run with Debian's python3-opencv: /usr/bin/python3 calibrate.py
"""
import json
import os

import cv2
import numpy as np

here = os.path.dirname(os.path.abspath(__file__))
with open(os.path.join(here, "corners.json")) as file:
    data = json.load(file)
columns, rows = data["board"]
board = np.zeros((columns * rows, 3), np.float32)
board[:, :2] = np.mgrid[0:columns, 0:rows].T.reshape(-1, 2)
names = list(data["cornersPx"])
seen = [np.array(data["cornersPx"][name], np.float32) for name in names]
flags = cv2.CALIB_FIX_K3 | cv2.CALIB_ZERO_TANGENT_DIST
criteria = (cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 500, 1e-14)
rms, k, dist, rvecs, tvecs = cv2.calibrateCamera(
    [board] * len(names), seen, tuple(data["imageSize"]), None, None, flags=flags, criteria=criteria
)
dist = dist.ravel()
result = {
    "opencv": cv2.__version__,
    "rmsPx": rms,
    "fx": k[0, 0], "fy": k[1, 1], "cx": k[0, 2], "cy": k[1, 2], "k1": dist[0], "k2": dist[1],
    "views": {
        name: {"rvec": r.ravel().tolist(), "tvecSquares": t.ravel().tolist()}
        for name, r, t in zip(names, rvecs, tvecs)
    },
}
with open(os.path.join(here, "calibration.json"), "w") as out:
    json.dump(result, out, indent=1)
