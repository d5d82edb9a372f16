"""Outlines of clock teeth, one pitch at a time, in mm. Needs numpy only.

A train wheel's tooth follows the cycloidal practice of BS 978-2: rolling circle half the pinion's pitch
diameter, thickness and dedendum pi/2 modules, radial flanks, addendum 0.95 of the height at which the two
epicycloids meet. The blank is turned to the tip diameter, so the tip keeps a small land.
"""

import numpy as np

CHORD_MM = 0.0015
"""Greatest distance between an arc and its chord."""


def epicycloid(pitch_radius, rolling_radius, t):
    """Points (x radial, y tangential) that leave the pitch circle at (pitch_radius, 0), turning counter-clockwise."""
    s = pitch_radius + rolling_radius
    k = s / rolling_radius
    return np.stack(
        [s * np.cos(t) - rolling_radius * np.cos(k * t), s * np.sin(t) - rolling_radius * np.sin(k * t)], axis=-1
    )


def _arch_top(pitch_radius, rolling_radius):
    """Parameter at which the epicycloid is farthest out."""
    return np.pi * rolling_radius / (pitch_radius + rolling_radius)


def _solve(f, low, high):
    """Root of an increasing function by bisection."""
    for _ in range(100):
        mid = 0.5 * (low + high)
        low, high = (low, mid) if f(mid) > 0 else (mid, high)
    return 0.5 * (low + high)


def addendum_factor(teeth, leaves):
    """f_a: addendum in modules (0.95 of the full height of the ogive). Agrees with BS 978-2 within 0.001."""
    pitch, rolling = teeth / 2, leaves / 4
    t = _solve(lambda t: np.arctan2(*epicycloid(pitch, rolling, t)[::-1]) - np.pi / (2 * teeth), 1e-9, _arch_top(pitch, rolling))
    return 0.95 * (np.hypot(*epicycloid(pitch, rolling, t)) - pitch)


def _arc(centre, radius, a0, a1):
    """Points of an arc from angle a0 to a1, both ends included, within the chord limit."""
    step = 2 * np.arccos(1 - min(CHORD_MM / radius, 0.1))
    n = max(2, int(np.ceil(abs(a1 - a0) / step)) + 1)
    a = np.linspace(a0, a1, n)
    return np.stack([centre[0] + radius * np.cos(a), centre[1] + radius * np.sin(a)], axis=-1)


def train_wheel_pitch(teeth, module, leaves):
    """One pitch of a train wheel, its tooth centred on angle 0.

    Returns (radius, angle) pairs from mid-space to mid-space, counter-clockwise, the last point left out.
    """
    m = module
    pitch, rolling = teeth * m / 2, leaves * m / 4
    half = np.pi / (2 * teeth)
    tip = pitch + addendum_factor(teeth, leaves) * m
    root = pitch - np.pi / 2 * m
    # Right flank: starts at angle -half on the pitch circle and turns towards the centre line.
    t_tip = _solve(lambda t: np.hypot(*epicycloid(pitch, rolling, t)) - tip, 1e-9, _arch_top(pitch, rolling))
    curve = epicycloid(pitch, rolling, np.linspace(0, t_tip, 22))
    r_curve, a_curve = np.hypot(curve[:, 0], curve[:, 1]), np.arctan2(curve[:, 1], curve[:, 0]) - half
    # Fillet between the root circle and the radial flank at angle -half, on the space side.
    rho = 0.28 * m
    r_centre = root + rho
    a_centre = -half - np.arcsin(rho / r_centre)
    r_touch = np.sqrt(r_centre**2 - rho**2)
    c = r_centre * np.array([np.cos(a_centre), np.sin(a_centre)])
    fillet = _arc(c, rho, a_centre + np.pi, np.pi / 2 - half)
    r_fillet, a_fillet = np.hypot(fillet[:, 0], fillet[:, 1]), np.arctan2(fillet[:, 1], fillet[:, 0])
    a_root = np.linspace(-np.pi / teeth, a_centre, 6)[:-1]
    r_flank = np.linspace(r_touch, pitch, 5)[1:-1]
    right = np.concatenate(
        [
            np.stack([np.full_like(a_root, root), a_root], axis=-1),
            np.stack([r_fillet, a_fillet], axis=-1),
            np.stack([r_flank, np.full_like(r_flank, -half)], axis=-1),
            np.stack([r_curve, a_curve], axis=-1),
        ]
    )
    land = np.stack([np.full(3, tip), np.linspace(a_curve[-1], -a_curve[-1], 5)[1:-1]], axis=-1)
    left = right[::-1] * [1, -1]
    return np.concatenate([right, land, left[:-1]])


def escape_wheel_pitch(teeth, tip_diameter):
    """One pitch of a recoil escape wheel whose teeth lean counter-clockwise; angle 0 is the middle of the tip land.

    Front straight and undercut, back hollow; made-up proportions. Same form as `train_wheel_pitch`.
    """
    tip = tip_diameter / 2
    root = tip - 2.35
    pitch_angle = 2 * np.pi / teeth
    land = 0.16 / tip
    lean = 0.62 / tip
    s = np.linspace(0, 1, 26)
    # Hollow back: rises slowly from the root, then steeply to the land (clockwise side of the tip).
    a_back0, a_back1 = -pitch_angle + 0.10 * pitch_angle - lean, -land / 2
    r_back = root + (tip - root) * s**1.75
    a_back = a_back0 + (a_back1 - a_back0) * s
    r_front = np.linspace(tip, root, 9)
    # The front goes back clockwise towards the root: the tip overhangs.
    a_front = land / 2 - lean * (tip - r_front) / (tip - root)
    a_root = np.linspace(a_front[-1], a_back0 + pitch_angle, 4)[1:-1]
    return np.concatenate(
        [
            np.stack([r_back, a_back], axis=-1),
            np.stack([r_front, a_front], axis=-1),
            np.stack([np.full_like(a_root, root), a_root], axis=-1),
        ]
    )


def count_wheel_outline(blows, tip_diameter, filled=(), notch_width=1.9, notch_depth=2.8):
    """Whole outline of a count wheel: a disc with one notch after each hour's blows. (radius, angle) pairs.

    `filled` are numbers of notches, from 0, that are not open.
    """
    places = 2 * np.pi * np.cumsum(blows) / np.sum(blows)
    return notched_disc(np.delete(places, list(filled)), tip_diameter, notch_width, notch_depth)


def notched_disc(places, tip_diameter, notch_width, notch_depth):
    """Whole outline of a disc with notches at the angles `places`, rising. (radius, angle) pairs."""
    tip = tip_diameter / 2
    pieces = []
    for i, centre in enumerate(places):
        half_top = np.arcsin(notch_width / 2 / tip)
        bottom = tip - notch_depth
        half_bottom = np.arcsin(notch_width / 2 / bottom)
        before = places[i - 1] if i else places[-1] - 2 * np.pi
        a = np.arange(before + half_top, centre - half_top, 2 * np.arccos(1 - CHORD_MM / tip))
        pieces.append(np.stack([np.full_like(a, tip), a], axis=-1))
        for r, at in ((tip, -half_top), (bottom, -half_bottom), (bottom, half_bottom)):
            pieces.append(np.array([[r, centre + at]]))
    return np.concatenate(pieces)
