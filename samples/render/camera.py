"""Where the camera is, and how its lens bends: the project's frames. Needs numpy only.

Mat: origin at the centre of the sheet, x right, y up the sheet, z towards the camera, mm.
Camera: x right, y down, z forwards. Pixel (0, 0) is the centre of the top-left pixel, upright.
"""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Lens:
    """A made-up phone camera."""

    name: str
    focal_length_35mm: int
    """As EXIF says it: whole millimetres."""
    focal_length_mm: float
    f_px_per_width: float
    """Focal length in px over the long side in px: the truth."""
    centre_offset: tuple[float, float]
    """Principal point from the middle of the picture, as a share of the long side."""
    k1: float
    k2: float


LENS_A = Lens("sample camera A", 26, 6.3, 0.7268, (0.0042, -0.0031), 0.046, -0.058)
LENS_A_ZOOM = Lens("sample camera A, twice", 52, 9.1, 1.4471, (-0.0036, 0.0029), 0.021, -0.102)
LENS_B = Lens("sample camera B", 28, 5.1, 0.7729, (-0.0027, 0.0055), -0.062, 0.031)


@dataclass(frozen=True)
class Camera:
    width: int
    height: int
    f: float
    cx: float
    cy: float
    k1: float
    k2: float

    @staticmethod
    def of(lens: Lens, width: int, height: int) -> "Camera":
        long = max(width, height)
        return Camera(
            width, height, lens.f_px_per_width * long,
            (width - 1) / 2 + lens.centre_offset[0] * long, (height - 1) / 2 + lens.centre_offset[1] * long,
            lens.k1, lens.k2,
        )  # fmt: skip


@dataclass(frozen=True)
class Pose:
    """y = rotation x + translation."""

    rotation: np.ndarray
    translation: np.ndarray

    @property
    def centre(self):
        return -self.rotation.T @ self.translation


def look(foot, distance, tilt_deg=0.0, tilt_towards_deg=0.0, roll_deg=0.0) -> Pose:
    """A camera whose axis meets the mat at `foot` (mm), `distance` mm away.

    At no tilt and no roll the picture's x is the mat's x. The camera leans back by `tilt_deg` towards the
    direction `tilt_towards_deg` of the mat; `roll_deg` turns it about its own axis.
    """
    a, b, c = np.radians([tilt_deg, tilt_towards_deg, roll_deg])
    back = np.array([np.sin(a) * np.cos(b), np.sin(a) * np.sin(b), np.cos(a)])
    # The smallest turn that takes z to `back`.
    axis = np.array([-np.sin(b), np.cos(b), 0.0])
    k = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    tilt = np.eye(3) + np.sin(a) * k + (1 - np.cos(a)) * k @ k
    x = tilt @ [np.cos(c), np.sin(c), 0]
    y = tilt @ [np.sin(c), -np.cos(c), 0]
    rotation = np.stack([x, y, -back])
    eye = np.array([foot[0], foot[1], 0.0]) + distance * back
    return Pose(rotation, -rotation @ eye)


def project(camera: Camera, pose: Pose, points):
    """Pixels (..., 2) of points (..., 3) in the mat frame."""
    p = np.asarray(points, float) @ pose.rotation.T + pose.translation
    x, y = p[..., 0] / p[..., 2], p[..., 1] / p[..., 2]
    r2 = x * x + y * y
    d = 1 + r2 * (camera.k1 + r2 * camera.k2)
    return np.stack([camera.cx + camera.f * x * d, camera.cy + camera.f * y * d], axis=-1)


def undistort_radius(r_distorted, k1, k2):
    """Newton on r (1 + k1 r^2 + k2 r^4) = r_distorted."""
    r = np.array(r_distorted, dtype=float)
    for _ in range(8):
        r2 = r * r
        r = r - (r * (1 + r2 * (k1 + r2 * k2)) - r_distorted) / (1 + r2 * (3 * k1 + 5 * r2 * k2))
    return r


def normalised(camera: Camera, u, v):
    """Undistorted x/z, y/z of pixels."""
    x, y = (u - camera.cx) / camera.f, (v - camera.cy) / camera.f
    rd = np.hypot(x, y)
    s = undistort_radius(rd, camera.k1, camera.k2) / np.maximum(rd, 1e-12)
    return x * s, y * s
