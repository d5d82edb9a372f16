"""Renders one sample: linear light, straight pinhole picture.

  blender -b -P samples/render/render.py -t 2 -- --shot NAME --sheets SHEETS_DIR --out DIR [--share 0.25] [--samples N]

Writes DIR/NAME.npy (float16, rows from the top, RGB, linear) for develop.py.
"""

import argparse
import os
import sys
import time

sys.dont_write_bytecode = True
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

import bpy  # noqa: E402
import numpy as np  # noqa: E402

from camera import Camera  # noqa: E402
from scene import build, part_box, set_camera, sheet_box  # noqa: E402
from settle import settle  # noqa: E402
from shots import SHOTS  # noqa: E402

parser = argparse.ArgumentParser()
parser.add_argument("--shot", required=True, choices=sorted(SHOTS))
parser.add_argument("--sheets", required=True)
parser.add_argument("--out", required=True)
parser.add_argument("--share", type=float, default=1.0, help="part of the full size, for a look")
parser.add_argument("--samples", type=int)
parser.add_argument("--window", type=float, nargs=4, metavar="SHARE", help="left, right, top, bottom: render no more")
parser.add_argument("--mask", action="store_true", help="wheels white, all else black, unlit: NAME.mask.npy, for check_truth.py")
args = parser.parse_args(sys.argv[sys.argv.index("--") + 1 :])

shot = SHOTS[args.shot]
start = time.time()
pose = build(shot, args.sheets)
scene = bpy.context.scene
size = set_camera(scene, shot, Camera.of(shot.lens, *shot.size), pose)

scene.render.engine = "CYCLES"
cycles = scene.cycles
cycles.device = "CPU"
cycles.use_adaptive_sampling = False
cycles.use_denoising = False
cycles.max_bounces, cycles.diffuse_bounces, cycles.glossy_bounces = 3, 0, 2
cycles.transmission_bounces = cycles.volume_bounces = cycles.transparent_max_bounces = 0
cycles.caustics_reflective = cycles.caustics_refractive = False
cycles.sample_clamp_direct, cycles.sample_clamp_indirect = 0.0, 4.0
cycles.use_auto_tile = False
cycles.pixel_filter_type, cycles.filter_width = "BLACKMAN_HARRIS", 1.5
scene.view_settings.view_transform = "Standard"
scene.render.image_settings.file_format = "OPEN_EXR"
scene.render.use_persistent_data = True
layer = scene.view_layers[0]
layer.use_pass_diffuse_direct = layer.use_pass_diffuse_indirect = layer.use_pass_diffuse_color = True
os.makedirs(args.out, exist_ok=True)
PASSES = ("Image", "DiffDir", "DiffInd", "DiffCol")
scene.use_nodes = True
tree = scene.node_tree
tree.nodes.clear()
source = tree.nodes.new("CompositorNodeRLayers")
files = tree.nodes.new("CompositorNodeOutputFile")
files.base_path = args.out
files.format.file_format, files.format.color_depth, files.format.color_mode = "OPEN_EXR", "32", "RGB"
files.format.exr_codec = "ZIP"
files.file_slots.clear()
for name in PASSES:
    files.file_slots.new(f"{shot.name}.{name}.")
    tree.links.new(source.outputs[name], files.inputs[-1])


def light(samples, seed, box):
    """Renders the part of the picture in box (left, right, top, bottom; px): {pass: (h, w, 3) float32, rows from the top}."""
    width, height = scene.render.resolution_x, scene.render.resolution_y
    scene.render.use_border = box is not None
    left, right, top, bottom = box or (0, width, 0, height)
    if box:
        scene.render.border_min_x, scene.render.border_max_x = left / width, right / width
        scene.render.border_min_y, scene.render.border_max_y = 1 - bottom / height, 1 - top / height
    cycles.samples, cycles.seed = samples, seed
    bpy.ops.render.render()
    out = {}
    for name in PASSES:
        path = os.path.join(args.out, f"{shot.name}.{name}.{scene.frame_current:04d}.exr")
        image = bpy.data.images.load(path)
        image.colorspace_settings.name = "Non-Color"
        w, h = image.size
        pixels = np.empty(w * h * 4, np.float32)
        image.pixels.foreach_get(pixels)
        out[name] = pixels.reshape(h, w, 4)[::-1, :, :3][top:bottom, left:right].copy()
        bpy.data.images.remove(image)
        os.remove(path)
    return out


def unlit(value):
    material = bpy.data.materials.new("unlit")
    material.use_nodes = True
    nodes, links = material.node_tree.nodes, material.node_tree.links
    glow = nodes.new("ShaderNodeEmission")
    glow.inputs["Color"].default_value = (value, value, value, 1)
    links.new(glow.outputs[0], nodes["Material Output"].inputs["Surface"])
    return material


built = time.time()
scene.render.resolution_percentage = 100
if args.mask:
    wheels = {place.label for place in shot.places}
    for thing in scene.objects:
        if thing.type == "LIGHT":
            thing.hide_render = True
        elif thing.type == "MESH":
            thing.data.materials[0] = unlit(1.0 if thing.name.split(".")[0] in wheels else 0.0)
    scene.world = None
    white = light(args.samples or 16, 1, None)["Image"][..., :1]
    np.save(os.path.join(args.out, f"{shot.name}.mask.npy"), white)
    sys.exit()
if args.share != 1:
    # A look at a small size: everything at once.
    scene.render.resolution_x, scene.render.resolution_y = [round(v * args.share / 2) * 2 for v in size]
    whole = light(args.samples or 12, shot.seed, None)
    weight = np.full((*whole["Image"].shape[:2], 1), args.samples or 12, np.float32)
elif args.window:
    width, height = size
    left, right, top, bottom = args.window
    box = (round(left * width), round(right * width), round(top * height), round(bottom * height))
    part = light(args.samples or shot.samples, shot.seed, box)
    whole = {name: np.zeros((height, width, 3), np.float32) for name in PASSES}
    weight = np.full((height, width, 1), args.samples or shot.samples, np.float32)
    for name in PASSES:
        whole[name][box[2] : box[3], box[0] : box[1]] = part[name]
else:
    # Matt surfaces need few samples (settle.py smooths their light); metal needs many.
    camera = Camera.of(shot.lens, *shot.size)
    many = args.samples or shot.samples
    sheet = [sheet_box(shot, args.sheets, pose, size, camera)] if shot.mat or shot.ground == "paper" else [(0, size[0], 0, size[1])]
    work = [(box, shot.few_samples) for box in sheet]
    work += [(part_box(place, pose, size, camera), many) for place in shot.places]
    whole = light(1, 10 * shot.seed, None)
    weight = np.ones((size[1], size[0], 1), np.float32)
    for i, (box, samples) in enumerate(work):
        fine = light(samples, 10 * shot.seed + 1 + i, box)
        # The renderer leaves the outermost pixels of a box unfinished.
        left, right, top, bottom = box[0] + 2, box[1] - 2, box[2] + 2, box[3] - 2
        there = weight[top:bottom, left:right]
        there += samples
        for name in PASSES:
            old = whole[name][top:bottom, left:right]
            old += (fine[name][2:-2, 2:-2] - old) * (samples / there)
done = time.time()
np.savez(os.path.join(args.out, f"{shot.name}.passes.npz"), samples=weight, **{k: v.astype(np.float16) for k, v in whole.items()})
np.save(os.path.join(args.out, f"{shot.name}.npy"), settle(whole, weight).astype(np.float16))
print(f"{shot.name}: {scene.render.resolution_x} x {scene.render.resolution_y}, built in {built - start:.0f} s, rendered in {done - built:.0f} s")
