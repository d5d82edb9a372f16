"""Where a part's own frame lies in the mat frame: flat, or leaning on its rim and the end of its arbor. Needs numpy only."""

import numpy as np

from shots import Place


def frame(place: Place, tip_radius: float = 0.0):
    """4 x 4: from the part's frame (origin on the axis, at the lower face) to the mat's; the lowest of the rim at `under`."""
    turn, lean, low = np.radians([place.turn, place.lean, place.lean_towards])
    across = np.array([-np.sin(low), np.cos(low), 0.0])
    k = np.array([[0, 0, across[1]], [0, 0, -across[0]], [-across[1], across[0], 0]])
    tip = np.eye(3) + np.sin(lean) * k + (1 - np.cos(lean)) * k @ k
    spin = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
    out = np.eye(4)
    out[:3, :3] = tip @ spin
    out[:3, 3] = [*place.at, place.under + tip_radius * np.sin(lean)]
    return out


def in_mat_at(place: Place, tip_radius, points):
    """Points x, y, z of the part's frame in the mat frame."""
    m = frame(place, tip_radius)
    return np.atleast_2d(points) @ m[:3, :3].T + m[:3, 3]
