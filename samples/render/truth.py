"""What is true of a sample photograph, as JSON; the format is described in samples/README.md. Needs numpy only.

  python3 samples/render/truth.py --shot NAME --out DIR       writes DIR/NAME.json
"""

import argparse
import json
import os
import re
import sys

sys.dont_write_bytecode = True
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

import numpy as np  # noqa: E402

from camera import Camera, look, project  # noqa: E402
from other_parts import PARTS, Plate  # noqa: E402
from placed import in_mat_at  # noqa: E402
from shots import PRINT_SCALE, SHOTS, Place, Shot  # noqa: E402
from wheel_outline import BLOWS, SLOT_DEPTH_MM, SLOT_WIDTH_MM, draw_outline, pitch_circle  # noqa: E402

UNDER_CHAMFER_MM = 0.03


def in_mat(place: Place, xy):
    """Points of the wheel's own frame (origin at the bore) in the mat frame."""
    a = np.radians(place.turn)
    return np.asarray(xy) @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]]) + place.at


def heights(wheel, place):
    """Face, and upper and lower end of the full-size outline, mm above the mat."""
    return (
        place.under + wheel.thickness,
        place.under + wheel.thickness - wheel.chamfer,
        place.under + UNDER_CHAMFER_MM,
    )


def tip_point(outline, wheel, tooth):
    """Tip of a tooth in the wheel's frame, form errors included; of a missing one, the middle of its stump's root."""
    r = tooth.tip_radius + wheel.ovality / 4 * np.cos(2 * (tooth.angle - np.radians(wheel.ovality_angle)))
    return outline.centre + r * np.array([np.cos(tooth.angle), np.sin(tooth.angle)])


def turned(deg):
    return round(float(deg) % 360, 4)


def describe_any(place: Place, camera, pose):
    part = PARTS[place.label]
    describe = {"plate": describe_plate, "pinion": describe_pinion}.get(part.kind, describe_wheel)
    return describe(part, place, camera, pose)


def placed(part, place: Place, camera, pose, face):
    return {
        "label": place.card or part.label,
        "words": part.words,
        "tag_in_photo": place.tag is not None,
        "kind": part.kind,
        "centre_mm": rounded(place.at, 4),
        "centre_px": rounded(project(camera, pose, [*place.at, face]), 3),
        "px_per_mm": round(float(px_per_mm(camera, pose, place.at, face)), 4),
        "face_height_mm": round(face, 4),
    }


def describe_plate(plate: Plate, place: Place, camera, pose):
    face = place.under + plate.thickness
    holes = []
    for hole in plate.holes:
        (at,) = in_mat(place, [hole.at])
        holes.append({
            "use": hole.use,
            "centre_mm": rounded(at, 4),
            "centre_px": rounded(project(camera, pose, [*at, face]), 3),
            "diameter_mm": hole.diameter,
            "ovality_mm": hole.oval,
            **({"ovality_angle_deg": round((hole.oval_angle + place.turn) % 180, 4)} if hole.oval else {}),
            **({"bush_diameter_mm": hole.bush} if hole.bush else {}),
        })  # fmt: skip
    return {
        **placed(plate, place, camera, pose, face),
        "finish": place.finish or plate.finish,
        "thickness_mm": plate.thickness,
        "bevel_mm": plate.chamfer,
        "width_mm": plate.width,
        "height_mm": plate.height,
        "turn_deg": turned(place.turn),
        "holes": holes,
    }


def describe_pinion(pinion, place: Place, camera, pose):
    return {
        **placed(pinion, place, camera, pose, place.under + pinion.length),
        "form": pinion.form,
        "tip_diameter_mm": round(pinion.tip_diameter, 5),
        **({"root_diameter_mm": round(pinion.root_diameter, 5)} if pinion.form == "cut" else {
            "pins": {
                "count": pinion.leaves,
                "circle_diameter_mm": round(pinion.leaves * pinion.module, 5),
                "diameter_mm": round(2 * pinion.wire_radius, 5),
            }
        }),
        "module_mm": pinion.module,
        "teeth": {
            "count": pinion.leaves,
            "angles_deg": [turned(place.turn + 360 * k / pinion.leaves) for k in range(pinion.leaves)],
        },
        "arbor": {
            "axis_mm": rounded(place.at, 4),
            "diameter_mm": pinion.arbor_diameter,
            "top_height_mm": round(place.under + pinion.length + pinion.shoulder + pinion.pivot_length, 4),
        },
    }  # fmt: skip


def describe_wheel(wheel, place: Place, camera, pose):
    outline = draw_outline(wheel)
    face, upper, lower = heights(wheel, place)
    centre = in_mat(place, outline.centre)
    if place.lean:
        (middle,) = in_mat_at(place, outline.tip_radius, [*outline.centre, wheel.thickness])
        centre, face = middle[:2], middle[2]
    part = {
        "label": place.card or wheel.label,
        "words": wheel.words,
        "tag_in_photo": place.tag is not None,
        "kind": wheel.kind,
        "finish": place.finish or wheel.finish,
        "centre_mm": rounded(centre, 4),
        "centre_px": rounded(project(camera, pose, [*centre, face]), 3),
        "px_per_mm": round(float(px_per_mm(camera, pose, centre, face)), 4),
        "thickness_mm": wheel.thickness,
        "face_height_mm": round(face, 4),
        **({} if place.lean else {"outline_height_mm": round(upper, 4), "outline_lower_height_mm": round(lower, 4)}),
        "bevel_mm": wheel.chamfer,
        **({"lean_deg": place.lean, "lean_towards_deg": turned(place.lean_towards)} if place.lean else {}),
        "tip_diameter_mm": round(2 * outline.tip_radius, 5),
        "root_diameter_mm": round(2 * outline.root_radius, 5),
    }
    if wheel.kind in ("wheel", "escape-wheel"):
        part["teeth"] = describe_teeth(wheel, place, outline, camera, pose)
        tips = in_mat(place, [tip_point(outline, wheel, t) for t in outline.teeth if t.state == "whole"])
        middle = in_mat(place, outline.centre)
        part["radial_runout_mm"] = round(float(np.ptp(np.hypot(*(tips - place.at).T))), 4)
        part["roundness_mm"] = round(float(np.ptp(np.hypot(*(tips - middle).T))), 4)
    elif wheel.kind == "count-wheel":
        notches = np.degrees(2 * np.pi * np.cumsum(BLOWS) / np.sum(BLOWS)) + place.turn
        part["notches"] = {
            "count": len(BLOWS) - len(wheel.filled),
            "blows": list(BLOWS),
            "angles_deg": [turned(a) for k, a in enumerate(notches) if k not in wheel.filled],
        }
        if wheel.filled:
            part["notches"]["filled_deg"] = [turned(notches[k]) for k in wheel.filled]
    else:
        part["notches"] = {
            "count": len(wheel.slots),
            "width_mm": SLOT_WIDTH_MM,
            "depth_mm": SLOT_DEPTH_MM,
            "angles_deg": [turned(a + place.turn) for a in wheel.slots],
        }
    gearing = pitch_circle(wheel)
    if gearing:
        part |= {
            "pitch_diameter_mm": round(gearing[0], 5),
            "module_mm": wheel.module,
            "addendum_factor": round(float(gearing[1]), 4),
        }
    if wheel.crossings:
        part["crossings"] = {
            "count": wheel.crossings.count,
            "arm_angles_deg": [turned(place.turn + 360 * k / wheel.crossings.count) for k in range(wheel.crossings.count)],
        }
    if wheel.pins:
        p = wheel.pins
        part["pins"] = {
            "count": p.count,
            "circle_diameter_mm": p.circle_diameter,
            "diameter_mm": p.diameter,
            "height_mm": p.height,
            "angles_deg": [turned(place.turn + 360 * (k + 0.5) / p.count) for k in range(p.count)],
        }
    on_arbor = wheel.arbor is not None and place.arbor
    (axis_at,) = in_mat_at(place, outline.tip_radius, [0, 0, wheel.thickness])
    part["bore"] = {
        "diameter_mm": wheel.bore,
        "visible": not on_arbor,
        "centre_mm": rounded(axis_at[:2], 4),
        "centre_px": rounded(project(camera, pose, axis_at), 3),
    }
    part["eccentricity_mm"] = wheel.eccentricity
    part["eccentricity_angle_deg"] = turned(wheel.eccentricity_angle + place.turn)
    part["eccentricity_vector_mm"] = rounded(in_mat(place, outline.centre) - place.at, 4)
    part["ovality_mm"] = wheel.ovality
    if wheel.ovality:
        part["ovality_angle_deg"] = round((wheel.ovality_angle + place.turn) % 180, 4)
    if on_arbor:
        a = wheel.arbor
        up = a.up if place.arbor_up is None else place.arbor_up
        part["arbor"] = {
            "axis_mm": rounded(place.at, 4),
            "diameter_mm": a.diameter,
            "top_height_mm": round(float(in_mat_at(place, outline.tip_radius, [0, 0, wheel.thickness + up])[0][2]), 4),
            "collet_diameter_mm": a.collet_diameter,
            "collet_height_mm": a.collet_height,
        }
        if a.pinion:
            part["arbor"]["pinion"] = {"leaves": a.pinion.leaves, "module_mm": a.pinion.module, "kind": a.pinion.kind}
    return part


def describe_teeth(wheel, place, outline, camera, pose):
    def angle(t):
        return turned(np.degrees(t.angle) + place.turn)

    tips = [
        project(camera, pose, in_mat_at(place, outline.tip_radius, [*tip_point(outline, wheel, t), wheel.thickness - wheel.chamfer])[0])
        for t in outline.teeth
    ]
    teeth = {
        "count": wheel.teeth,
        "missing": [{"angle_deg": angle(t)} for t in outline.teeth if t.state == "missing"],
        "bent": [{"angle_deg": angle(t), "offset_mm": t.offset} for t in outline.teeth if t.state == "bent"],
        "tips": [
            {"angle_deg": angle(t), "state": t.state, "at_px": rounded(p, 2)} for t, p in zip(outline.teeth, tips)
        ],
    }
    if wheel.kind == "escape-wheel":
        teeth["rake"] = "counter-clockwise"
    return teeth


def px_per_mm(camera, pose, centre, z):
    x, y = centre
    p = project(camera, pose, [[x - 0.5, y, z], [x + 0.5, y, z], [x, y - 0.5, z], [x, y + 0.5, z]])
    a, b = p[1] - p[0], p[3] - p[2]
    return np.sqrt(abs(a[0] * b[1] - a[1] * b[0]))


def rounded(values, digits):
    return [round(float(v), digits) for v in np.ravel(values)]


def describe(shot: Shot):
    camera = Camera.of(shot.lens, *shot.size)
    pose = look(shot.foot, shot.distance, shot.tilt, shot.tilt_towards, shot.roll)
    on_mat = shot.mat is not None
    return {
        "schema": "wheelsurvey/sample-truth/1",
        "note": "rendered, not a photograph; invented movement",
        "photo": f"{shot.name}.jpg",
        "words": shot.words,
        "width_px": camera.width,
        "height_px": camera.height,
        "exif_orientation": shot.stored_turn,
        "light": shot.light,
        "ground": shot.ground,
        **({"mat": shot.mat, "print_scale": list(PRINT_SCALE)} if on_mat else {}),
        "camera": {"fx_px": camera.f, "fy_px": camera.f, "cx_px": camera.cx, "cy_px": camera.cy, "k1": camera.k1, "k2": camera.k2},
        "mat_to_camera": {"rotation": rounded(pose.rotation, 9), "translation_mm": rounded(pose.translation, 6)},
        "camera_centre_mm": rounded(pose.centre, 4),
        "foot_point_mm": rounded(pose.centre[:2], 4),
        "lens_opening_mm": shot.aperture,
        "added_blur_px": shot.develop.blur_px,
        "parts": [describe_any(place, camera, pose) for place in shot.places],
    }  # fmt: skip


def compact(text):
    """Innermost lists and objects on one line each."""
    for _ in range(2):
        text = re.sub(r"[\[{][^\[\]{}]{0,160}[\]}]", lambda m: re.sub(r"\s*\n\s*", " ", m.group()), text)
    return text


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--shot", required=True, choices=sorted(SHOTS))
    parser.add_argument("--out", required=True)
    args = parser.parse_args()
    os.makedirs(args.out, exist_ok=True)
    with open(os.path.join(args.out, f"{args.shot}.json"), "w") as f:
        f.write(compact(json.dumps(describe(SHOTS[args.shot]), indent=1)) + "\n")
