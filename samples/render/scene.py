"""Builds one shot as a Blender scene: mat, cards, wheels on their arbors, light, camera. One unit is one mm."""

import json
import os

import bpy
import numpy as np
from mathutils import Matrix, Vector

import materials
from camera import Camera, Pose, look, normalised
from movement import Wheel
from other_parts import PARTS, EndPinion, Plate, bush_outline, plate_outline
from placed import frame
from shots import PRINT_SCALE, Place, Shot
from wheel_mesh import pinion_leaves, turned, wheel_solid
from wheel_outline import draw_outline

_AROUND = 2 * np.pi


def empty_scene():
    bpy.ops.wm.read_factory_settings(use_empty=True)
    return bpy.context.scene


def add(name, vertices, faces, material, matrix=None, smooth=False):
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata(np.asarray(vertices).tolist(), [], faces)
    mesh.materials.append(material)
    if smooth:
        mesh.polygons.foreach_set("use_smooth", np.ones(len(mesh.polygons), bool))
        mesh.use_auto_smooth = True
        mesh.auto_smooth_angle = np.radians(35)
    mesh.update()
    thing = bpy.data.objects.new(name, mesh)
    if matrix is not None:
        thing.matrix_world = matrix
    bpy.context.scene.collection.objects.link(thing)
    return thing


def sheet(name, size, z, material, at=(0, 0), turn=0.0, uv=((0, 0), (1, 1)), thickness=0.0):
    """A flat card; `uv` are the texture's corners at its lower left and upper right."""
    w, h = size[0] / 2, size[1] / 2
    v = [(-w, -h, 0), (w, -h, 0), (w, h, 0), (-w, h, 0)]
    faces = [(0, 1, 2, 3)]
    if thickness:
        v += [(x, y, -thickness) for x, y, _ in v]
        faces += [(i, i + 4, (i + 1) % 4 + 4, (i + 1) % 4) for i in range(4)]
    matrix = Matrix.Translation((at[0], at[1], z)) @ Matrix.Rotation(np.radians(turn), 4, "Z")
    thing = add(name, v, faces, material, matrix)
    layer = thing.data.uv_layers.new()
    (u0, v0), (u1, v1) = uv
    corners = [(u0, v0), (u1, v0), (u1, v1), (u0, v1)]
    for loop in thing.data.loops:
        layer.data[loop.index].uv = corners[loop.vertex_index % 4]
    return thing


def build(shot: Shot, sheets_dir):
    """The whole scene; returns the camera's pose."""
    scene = empty_scene()
    with open(os.path.join(sheets_dir, "sheets.json")) as f:
        sheets = json.load(f)
    steel, brown = materials.steel(), materials.steel("brown")
    sheet("bench", (6000, 6000), -0.4, materials.bench("cloth" if shot.ground == "cloth" else "wood"))
    if shot.mat:
        w, h = sheets["mats"][shot.mat]["size_mm"]
        sheet("mat", (w * PRINT_SCALE[0], h * PRINT_SCALE[1]), 0,
              materials.printed(os.path.join(sheets_dir, f"mat-{shot.mat}.png")), thickness=0.12)  # fmt: skip
    elif shot.ground == "paper":
        sheet("paper", (420, 297), 0, materials.plain_paper(), thickness=0.12)
    for place in shot.places:
        part = PARTS[place.label]
        put = put_plate if part.kind == "plate" else put_end_pinion if part.kind == "pinion" else put_wheel
        put(part, place, steel, brown)
        if place.tag:
            put_card(place, sheets, sheets_dir)
    if shot.clutter:
        CLUTTER[shot.clutter](steel)
    pose = look(shot.foot, shot.distance, shot.tilt, shot.tilt_towards, shot.roll)
    LIGHTS[shot.light](scene, pose)
    return pose


def put_card(place: Place, sheets, sheets_dir):
    card = sheets["cards"][place.card or place.label]
    page = np.array(sheets["tags_page_mm"])
    low, high = np.array(card["from_mm"]), np.array(card["to_mm"])
    high[0] = low[0] + place.card_width
    uv = [tuple((p + page / 2) / page) for p in (low, high)]
    x, y, turn = place.tag
    # The printer's scale is the mat's; the scissors' is not worth a word.
    size = (high - low) * PRINT_SCALE
    sheet(f"card {place.label}", size, 0.28, materials.printed(os.path.join(sheets_dir, "tags.png")),
          (x, y), turn, uv, thickness=0.2)  # fmt: skip


def _frame(place: Place, tip_radius=0.0):
    return Matrix(frame(place, tip_radius).tolist())


def put_plate(plate: Plate, place: Place, *_):
    base = _frame(place)
    brass = materials.brass(place.finish or plate.finish, plate.seed)
    add(plate.label, *wheel_solid(plate_outline(plate), plate.thickness, plate.chamfer), brass, base)
    bushes = [h for h in plate.holes if h.bush]
    other = materials.brass("polished", plate.seed + 50) if bushes else None
    for hole in bushes:
        add("bush", *wheel_solid(bush_outline(hole), plate.thickness, 0.06), other, base)


def put_end_pinion(pinion: EndPinion, place: Place, steel, _):
    base = _frame(place)
    r, pivot, top = pinion.arbor_diameter / 2, pinion.pivot_diameter / 2, pinion.length + pinion.shoulder
    rod = [(r, -12.0), (r, top - 0.1), (r - 0.1, top), (pivot, top)]
    add("arbor", *turned(rod + _rod([(pivot, top + pinion.pivot_length)], 0.12)), steel, base, smooth=True)
    if pinion.form == "cut":
        add(pinion.label, *pinion_leaves(pinion.leaves, pinion.module, 0.0, pinion.length), steel, base)
    else:
        brass = materials.brass("polished", 90)
        put_lantern(pinion.leaves, pinion.module, r, 0.0, pinion.length, base, steel, brass)


def put_wheel(wheel: Wheel, place: Place, steel, brown):
    finish = place.finish or wheel.finish
    brass = materials.brass(finish, wheel.seed)
    outline = draw_outline(wheel)
    base = _frame(place, outline.tip_radius)
    add(wheel.label, *wheel_solid(outline, wheel.thickness, wheel.chamfer), brass, base)
    face = wheel.thickness
    if wheel.pins:
        p = wheel.pins
        profile = _rod([(p.diameter / 2, -0.3), (p.diameter / 2, p.height)], 0.12)
        for k in range(p.count):
            a = _AROUND * (k + 0.5) / p.count
            at = Matrix.Translation((p.circle_diameter / 2 * np.cos(a), p.circle_diameter / 2 * np.sin(a), face))
            add("pin", *turned(profile, 32), steel, base @ at, smooth=True)
    if wheel.arbor and place.arbor:
        put_arbor(wheel, place, base @ Matrix.Translation((0, 0, face)), steel, brown, finish)


def _rod(profile, edge):
    """Profile of a rod with its upper rim broken by `edge`, closed at the axis."""
    (*rest, (r, z)) = profile
    return [*rest, (r, z - edge), (r - edge, z), (1e-3, z)]


def put_arbor(wheel, place, base, steel, brown, finish):
    arbor = wheel.arbor
    up = arbor.up if place.arbor_up is None else place.arbor_up
    shoulder = up - arbor.pivot_length
    r, pivot = arbor.diameter / 2, arbor.pivot_diameter / 2
    rod = [(r, -25.0), (r, shoulder - 0.15), (r - 0.15, shoulder), (pivot, shoulder)]
    add("arbor", *turned(rod + _rod([(pivot, up)], 0.15)), steel, base, smooth=True)
    brass = materials.brass("patina" if finish == "patina" else "polished", wheel.seed + 50)
    c, h = arbor.collet_diameter / 2, arbor.collet_height
    add("collet", *turned([(c, -0.2), (c, h * 0.55), (c - 0.25, h * 0.6), (c * 0.72, h), (r, h)]), brass, base, smooth=True)
    # The far side, when the wheel stands on its collet.
    if place.under:
        add("under collet", *turned([(c, -wheel.thickness - place.under), (c, -wheel.thickness + 0.1)]), brass, base, smooth=True)
    if arbor.cam:
        add("cam", *turned([(4.6, h + 0.2), (4.6, h + 1.2), (r, h + 1.2)]), brass, base, smooth=True)
    if arbor.pinion:
        put_pinion(arbor.pinion, r, shoulder, base, steel, brass)


def put_pinion(pinion, r, shoulder, base, steel, brass):
    low = min(pinion.above, shoulder - pinion.length - 0.8)
    if shoulder > 25:
        # A long arbor carries its pinion near the upper end.
        low = shoulder - pinion.length - 3.0
    high = low + pinion.length
    if pinion.kind == "cut":
        add("pinion", *pinion_leaves(pinion.leaves, pinion.module, low, high), steel, base)
    else:
        put_lantern(pinion.leaves, pinion.module, r, low, high, base, steel, brass)


def put_lantern(trundles, module, r, low, high, base, steel, brass):
    """Lantern pinion between the heights `low` and `high`, on an arbor of the radius `r`."""
    pitch = trundles * module / 2
    wire = 0.62 * module
    cap = pitch + wire + 0.35
    for z in (low, high - 1.1):
        rim = [(r, z), (cap - 0.1, z), (cap, z + 0.1), (cap, z + 1.0), (cap - 0.1, z + 1.1), (r, z + 1.1)]
        add("cap", *turned(rim), brass, base, smooth=True)
    for k in range(trundles):
        a = _AROUND * k / trundles
        at = Matrix.Translation((pitch * np.cos(a), pitch * np.sin(a), 0))
        add("trundle", *turned(_rod([(wire, low + 0.5), (wire, high + 0.05)], 0.05), 24), steel, base @ at, smooth=True)


def rag(steel):
    """A crumpled cloth and a screwdriver over one side of the mat."""
    rng = np.random.default_rng(5)
    n = 90
    x, y = np.meshgrid(np.linspace(0, 1, n), np.linspace(0, 1, n))
    z = np.zeros_like(x)
    for _ in range(14):
        k = rng.normal(0, 9, 2)
        z += np.abs(np.sin(k[0] * x + k[1] * y + rng.uniform(0, 6))) * rng.uniform(0.5, 1.5)
    z = 1.0 + 10 * (z - z.min()) / (z.max() - z.min()) * np.minimum(1, 6 * np.minimum(np.minimum(x, 1 - x), np.minimum(y, 1 - y)) + 0.15)
    edge = 6 * np.sin(5 * y + 1) + 4 * np.sin(13 * y)
    v = np.column_stack([(66 + 110 * x + edge * (1 - x)).ravel(), (-190 + 260 * y + 8 * np.sin(4 * x)).ravel(), z.ravel()])
    i = (np.arange(n - 1)[:, None] * n + np.arange(n - 1)).ravel()
    add("rag", v, np.stack([i, i + 1, i + n + 1, i + n], axis=-1).tolist(), materials.plain("rag", (0.30, 0.07, 0.06), 0.95), smooth=True)
    lying = Matrix.Translation((-20, 146, 9.5)) @ Matrix.Rotation(np.radians(78), 4, "Z") @ Matrix.Rotation(np.radians(90), 4, "X")
    handle = [(1e-3, -70), (7, -69), (9.5, -60), (9.5, -10), (6, 0), (6, 3), (1e-3, 3)]
    add("handle", *turned(handle), materials.plain("handle", (0.02, 0.10, 0.05), 0.25), lying, smooth=True)
    add("blade", *turned([(2.2, 3), (2.2, 80), (1e-3, 80)]), steel, lying, smooth=True)


CLUTTER = {"rag": rag}


def world(scene, ceiling, walls, floor=0.05, tint=(1, 1, 1)):
    """Light from all round: a room that is brighter above, with patches, so that brass has something to mirror."""
    h, w = 128, 256
    rng = np.random.default_rng(7)
    height, round_ = np.meshgrid((np.arange(h) + 0.5) / h * 2 - 1, (np.arange(w) + 0.5) / w, indexing="ij")
    light = np.interp(np.sin(height * np.pi / 2), [-1, -0.1, 0.1, 0.75], [floor, floor, walls, ceiling])
    vary = np.zeros_like(light)
    for _ in range(16):
        k, phase = rng.integers(1, 6), rng.uniform(0, 2 * np.pi, 2)
        vary += np.cos(2 * np.pi * k * round_ + phase[0]) * np.cos(4 * rng.uniform(0.3, 1) * height + phase[1])
    light *= np.clip(1 + 0.13 * vary * np.cos(height * np.pi / 2), 0.4, 1.8)
    # Overhead: bright ceiling on one side, a dark beam, so that a flat face is not mirrored as one tone.
    a = 2 * np.pi * round_
    x, y = np.cos(height * np.pi / 2) * np.cos(a), np.cos(height * np.pi / 2) * np.sin(a)
    above = height > 0.45
    light *= np.where(above, 1 + 0.55 * np.tanh((x + 0.4 * y + 0.03) / 0.10), 1)
    image = bpy.data.images.new("room", w, h, float_buffer=True, is_data=True)
    rgba = np.ones((h, w, 4), np.float32)
    rgba[..., :3] = light[..., None] * np.array(tint)
    image.pixels.foreach_set(rgba.ravel())
    image.update()
    scene.world = bpy.data.worlds.new("room")
    scene.world.use_nodes = True
    tree = scene.world.node_tree
    sky = tree.nodes.new("ShaderNodeTexEnvironment")
    sky.image = image
    tree.links.new(sky.outputs[0], tree.nodes["Background"].inputs["Color"])
    scene.world.cycles.sampling_method = "MANUAL"
    scene.world.cycles.sample_map_resolution = 256


def lamp(kind, at, aim, size, radiance, tint, shape="RECTANGLE"):
    """An area light of given radiance; `size` (width, height) in mm."""
    data = bpy.data.lights.new(kind, "AREA")
    data.shape, data.size, data.size_y = shape, size[0], size[1]
    area = size[0] * size[1] * (np.pi / 4 if shape in ("DISK", "ELLIPSE") else 1)
    data.energy = radiance * np.pi * area
    data.color = tint
    thing = bpy.data.objects.new(kind, data)
    thing.matrix_world = Matrix.Translation(at) @ (Vector(aim) - Vector(at)).to_track_quat("-Z", "Y").to_matrix().to_4x4()
    bpy.context.scene.collection.objects.link(thing)


def phone(pose: Pose):
    """The dark slab behind the lens: it is what flat brass under a phone mirrors."""
    w, h = 76, 158
    behind = pose.rotation.T @ np.array([[1, 0, 0], [0, -1, 0], [0, 0, -1]]).T
    m = Matrix.Translation(pose.centre) @ Matrix(behind.tolist()).to_4x4()
    x0, y0 = -h + 18, -w + 16
    v = [(x0, y0, 2), (x0 + h, y0, 2), (x0 + h, y0 + w, 2), (x0, y0 + w, 2)]
    add("phone", v, [(0, 1, 2, 3)], materials.plain("phone", (0.02, 0.02, 0.022), 0.3), m)


def window(scene, pose):
    world(scene, 0.42, 0.20, tint=(1.0, 0.97, 0.93))
    lamp("window", (-1200, 650, 1000), (0, 0, 0), (800, 1200), 9.0, (0.96, 1.0, 1.06))
    phone(pose)


def overcast(scene, pose):
    world(scene, 1.0, 0.75, tint=(0.97, 1.0, 1.05))
    phone(pose)


def flash(scene, pose):
    world(scene, 0.10, 0.06, tint=(1.0, 0.90, 0.75))
    right, down, forwards = pose.rotation
    at = pose.centre + 16 * right + 5 * down - 0.5 * forwards
    lamp("flash", tuple(at), tuple(at + 300 * forwards), (6, 6), 2600.0, (1, 1, 1))
    phone(pose)


def sun(scene, pose):
    world(scene, 0.20, 0.13, tint=(0.80, 0.92, 1.15))
    data = bpy.data.lights.new("sun", "SUN")
    data.energy, data.angle, data.color = 6.0, np.radians(0.6), (1.0, 0.95, 0.86)
    thing = bpy.data.objects.new("sun", data)
    thing.matrix_world = Vector((0.85, 0.30, -0.52)).to_track_quat("-Z", "Y").to_matrix().to_4x4()
    scene.collection.objects.link(thing)
    phone(pose)


def desk_lamp(scene, pose):
    world(scene, 0.16, 0.10, tint=(1.0, 0.88, 0.72))
    lamp("lamp", (330, 260, 430), (0, 0, 0), (70, 70), 150.0, (1.0, 0.84, 0.62), "DISK")
    phone(pose)


LIGHTS = {"window": window, "overcast": overcast, "flash": flash, "sun": sun, "desk-lamp": desk_lamp}


def frame_size(camera: Camera):
    """Size of the straight picture that covers the bent one, its principal point in the exact middle, px."""
    u = np.concatenate([np.linspace(-4, camera.width + 3, 200), np.full(200, -4), np.full(200, camera.width + 3)])
    v = np.concatenate([np.full(200, -4), np.linspace(-4, camera.height + 3, 200), np.linspace(-4, camera.height + 3, 200)])
    u, v = np.concatenate([u, u]), np.concatenate([v, camera.height - 1 - v])
    x, y = normalised(camera, u, v)
    return [int(2 * np.ceil(camera.f * np.abs(c).max() + 2)) for c in (x, y)]


def set_camera(scene, shot, camera: Camera, pose: Pose):
    """Pinhole camera of the same focal length in px as the photograph's; the lens is bent afterwards.

    Blender's picture spans pixel edges, so the middle of a picture of even width lies between two pixels.
    """
    width, height = frame_size(camera)
    data = bpy.data.cameras.new("camera")
    # A wide sensor only to keep the opening (set below) within the f-numbers that Blender allows.
    data.sensor_fit, data.sensor_width = "HORIZONTAL", 360.0
    data.lens = 360.0 * camera.f / width
    data.clip_start, data.clip_end = 5.0, 20000.0
    if shot.aperture:
        data.dof.use_dof = True
        data.dof.focus_distance = shot.distance - 1.5
        data.dof.aperture_fstop = 1e-3 * data.lens / shot.aperture
        data.dof.aperture_blades = 0
    thing = bpy.data.objects.new("camera", data)
    # Blender's camera looks along -z with y up.
    axes = pose.rotation.T @ np.diag([1.0, -1.0, -1.0])
    thing.matrix_world = Matrix.Translation(pose.centre) @ Matrix(axes.tolist()).to_4x4()
    scene.collection.objects.link(thing)
    scene.camera = thing
    scene.render.resolution_x, scene.render.resolution_y = width, height
    return width, height


def _box(points, pose: Pose, size, camera: Camera):
    """Left, right, top, bottom (px of the straight picture) round points (n, 3)."""
    p = points @ pose.rotation.T + pose.translation
    x, y = p[:, 0] / p[:, 2] * camera.f + size[0] / 2, p[:, 1] / p[:, 2] * camera.f + size[1] / 2
    box = [np.floor(x.min()) - 10, np.ceil(x.max()) + 10, np.floor(y.min()) - 10, np.ceil(y.max()) + 10]
    return tuple(int(v) for v in np.clip(box, 0, [size[0], size[0], size[1], size[1]]))


def sheet_box(shot: Shot, sheets_dir, pose: Pose, size, camera: Camera):
    """Where the mat or paper is."""
    w, h = 420, 297
    if shot.mat:
        with open(os.path.join(sheets_dir, "sheets.json")) as f:
            w, h = json.load(f)["mats"][shot.mat]["size_mm"]
    corners = np.array([[sx * w / 2, sy * h / 2, 0] for sx in (-1, 1) for sy in (-1, 1)]) * 1.004
    return _box(corners, pose, size, camera)


def part_box(place: Place, pose: Pose, size, camera: Camera):
    """Where a part is, with all that stands on it."""
    wheel = PARTS[place.label]
    a = np.linspace(0, _AROUND, 64)
    if wheel.kind == "plate":
        corners = (plate_outline(wheel).outer * 1.02) @ np.array(_frame(place).to_3x3())[:2, :2].T + place.at
        return _box(np.column_stack([corners, np.full(len(corners), wheel.thickness)]), pose, size, camera)
    if wheel.kind == "pinion":
        high = wheel.length + wheel.shoulder + wheel.pivot_length
        q = wheel.tip_diameter / 2 + 1
        rim = [np.column_stack([place.at[0] + q * np.cos(a), place.at[1] + q * np.sin(a), np.full(64, z)]) for z in (0, high)]
        return _box(np.concatenate(rim), pose, size, camera)
    r = draw_outline(wheel).tip_radius + 1
    top = place.under + wheel.thickness + 2 * r * np.sin(np.radians(place.lean))
    up = top + (place.arbor_up or (wheel.arbor.up if wheel.arbor and place.arbor else 0))
    rim = [np.column_stack([place.at[0] + q * np.cos(a), place.at[1] + q * np.sin(a), np.full(64, z)])
           for q, z in ((r, 0), (r, top), (6 + up * np.sin(np.radians(place.lean)), up))]  # fmt: skip
    return _box(np.concatenate(rim), pose, size, camera)
