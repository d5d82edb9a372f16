#!/usr/bin/env python3
"""Count the teeth of wheels in photographs, as a vision engineer would first write it with OpenCV.

    python3 count_teeth.py PHOTO...

Prints one JSON line a photograph: file, parts (centre, radius, count), seconds (by the clock) and
processor_seconds (all threads), both from opening the file to its counts, without start-up.

This is the plain yardstick of test/bench/run-peer.ts: threshold, contours, circle, unrolled rim, spectrum.
It was written for this project, from the textbook, and is kept as it is: its numbers were not chosen after a
look at the answers.
"""

import json
import sys
import time

try:
    import cv2
    import numpy as np
except ImportError:
    print("OpenCV for Python is not there: apt-get install python3-opencv python3-numpy (Debian), and call again")
    sys.exit(0)

SMALLEST_RADIUS_SHARE = 0.02  # of the shorter side of the picture: less is print, dust, a screw
LARGEST_RADIUS_SHARE = 0.55
LEAST_ROUNDNESS = 0.7  # filled area over that of the enclosing circle: a square has 0.64
ANGLES = 4096  # samples around the rim: 10 and more a tooth up to 400 teeth
FEWEST_TEETH = 6  # lower harmonics are eccentricity, ovality, crossings
MOST_TEETH = 400


def foreground_masks(image):
    """Brass has colour, paper has none; steel is darker than paper. Otsu finds both limits."""
    blurred = cv2.GaussianBlur(image, (5, 5), 0)
    saturation = cv2.cvtColor(blurred, cv2.COLOR_BGR2HSV)[:, :, 1]
    grey = cv2.cvtColor(blurred, cv2.COLOR_BGR2GRAY)
    _, coloured = cv2.threshold(saturation, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    _, dark = cv2.threshold(grey, 0, 255, cv2.THRESH_BINARY_INV + cv2.THRESH_OTSU)
    # Closes scratches and gaps of a pixel or two, but no tooth space.
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (3, 3))
    return [cv2.morphologyEx(mask, cv2.MORPH_CLOSE, kernel) for mask in (coloured, dark)]


def round_contours(mask):
    """Outer contours that fill most of their enclosing circle, largest first."""
    # With holes told apart, for the table around the sheet is a contour that holds all others.
    contours, hierarchy = cv2.findContours(mask, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    if hierarchy is None:
        return []
    shorter = min(mask.shape)
    found = []
    for contour, (_, _, _, parent) in zip(contours, hierarchy[0]):
        if parent >= 0 or len(contour) < 50:
            continue
        # The hull has the same circle and few points: on a rough ground this is minutes against a second.
        _, radius = cv2.minEnclosingCircle(cv2.convexHull(contour))
        if not SMALLEST_RADIUS_SHARE * shorter <= radius <= LARGEST_RADIUS_SHARE * shorter:
            continue
        if cv2.contourArea(contour) >= LEAST_ROUNDNESS * np.pi * radius**2:
            found.append((radius, contour))
    return [contour for _, contour in sorted(found, key=lambda pair: -pair[0])]


def fit_circle(contour):
    """Least-squares circle (algebraic, Kasa) through the outline; teeth average out."""
    x, y = contour[:, 0, 0].astype(float), contour[:, 0, 1].astype(float)
    mean_x, mean_y = x.mean(), y.mean()
    x, y = x - mean_x, y - mean_y
    design = np.column_stack([2 * x, 2 * y, np.ones_like(x)])
    (a, b, c), *_ = np.linalg.lstsq(design, x**2 + y**2, rcond=None)
    return (a + mean_x, b + mean_y), float(np.sqrt(c + a**2 + b**2))


def count_teeth(contour, shape, centre, radius):
    """Strongest harmonic of the rim: its radius at every angle, from the filled outline unrolled."""
    filled = np.zeros(shape, np.uint8)
    cv2.drawContours(filled, [contour], -1, 255, cv2.FILLED)
    outer = 1.3 * radius
    unrolled = cv2.warpPolar(
        filled, (int(np.ceil(outer)), ANGLES), centre, outer, cv2.INTER_LINEAR + cv2.WARP_POLAR_LINEAR
    )
    rim = unrolled.sum(axis=1, dtype=float) / 255
    spectrum = np.abs(np.fft.rfft(rim - rim.mean()))
    return FEWEST_TEETH + int(np.argmax(spectrum[FEWEST_TEETH : MOST_TEETH + 1]))


def find_wheels(image):
    parts = []
    for mask in foreground_masks(image):
        for contour in round_contours(mask):
            centre, radius = fit_circle(contour)
            # What was found by colour is not found again by darkness, nor is what lies on it.
            if any(np.hypot(centre[0] - x, centre[1] - y) < max(r, radius) for (x, y), r, _ in parts):
                continue
            parts.append((centre, radius, count_teeth(contour, mask.shape, centre, radius)))
    return parts


def measure(path):
    started, started_processor = time.perf_counter(), time.process_time()
    image = cv2.imread(path, cv2.IMREAD_COLOR)
    if image is None:
        print(f"{path}: not a picture that OpenCV reads", file=sys.stderr)
    parts = [] if image is None else find_wheels(image)
    return {
        "file": path,
        "parts": [
            {"centre": [round(x, 2), round(y, 2)], "radius": round(radius, 2), "count": count}
            for (x, y), radius, count in parts
        ],
        "seconds": round(time.perf_counter() - started, 4),
        "processor_seconds": round(time.process_time() - started_processor, 4),
    }


if __name__ == "__main__":
    if len(sys.argv) < 2:
        sys.exit("usage: count_teeth.py PHOTO...")
    for photo in sys.argv[1:]:
        print(json.dumps(measure(photo)), flush=True)
