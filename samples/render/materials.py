"""Surfaces: paper, brass in several states, steel, benches. Runs inside Blender. One unit is one millimetre."""

import bpy
import numpy as np

from surface_maps import MAP_MM, MAP_PX, brass_maps


class Graph:
    """Short hand for a material's node tree."""

    def __init__(self, name):
        self.material = bpy.data.materials.new(name)
        self.material.use_nodes = True
        self.tree = self.material.node_tree
        self.shader = self.tree.nodes["Principled BSDF"]

    def node(self, kind, inputs=None, **settings):
        node = self.tree.nodes.new(kind)
        for key, value in settings.items():
            setattr(node, key, value)
        for key, value in (inputs or {}).items():
            self.put(node, key, value)
        return node

    def put(self, node, key, value):
        socket = node.inputs[key]
        if isinstance(value, bpy.types.NodeSocket):
            self.tree.links.new(value, socket)
        else:
            socket.default_value = value

    def set(self, **inputs):
        for key, value in inputs.items():
            self.put(self.shader, key.replace("_", " "), value)
        return self

    def matt(self, colour):
        """Replaces the surface by a plain matt one: far cheaper to render."""
        surface = self.node("ShaderNodeBsdfDiffuse", {"Color": colour})
        self.tree.links.new(surface.outputs[0], self.tree.nodes["Material Output"].inputs["Surface"])
        return self.material

    def math(self, operation, a, b=0.5, clamp=False):
        return self.node("ShaderNodeMath", {0: a, 1: b}, operation=operation, use_clamp=clamp).outputs[0]

    def mix(self, factor, a, b):
        return self.node("ShaderNodeMixRGB", {0: factor, 1: a, 2: b}).outputs[0]

    def noise(self, vector, scale, detail=3.0, rough=0.55):
        return self.node(
            "ShaderNodeTexNoise", {"Vector": vector, "Scale": scale, "Detail": detail, "Roughness": rough}
        ).outputs["Fac"]

    def ramp(self, value, low, high):
        """0 below `low`, 1 above `high`."""
        return self.node("ShaderNodeMapRange", {"Value": value, "From Min": low, "From Max": high}).outputs[0]

    def local(self, scale=(1, 1, 1), turn=0.0, shift=(0, 0, 0)):
        place = self.node("ShaderNodeTexCoord").outputs["Object"]
        return self.node(
            "ShaderNodeMapping", {"Vector": place, "Scale": scale, "Rotation": (0, 0, turn), "Location": shift}
        ).outputs[0]

    def bump(self, height, distance):
        return self.node("ShaderNodeBump", {"Height": height, "Distance": distance, "Strength": 1.0}).outputs[0]


def _rgb(*c):
    return (*c, 1.0)


def brass(finish, seed):
    """'brushed', 'lathe', 'polished' or 'patina'; colours and lays are made up."""
    g = Graph(f"brass {finish} {seed}")
    maps = brass_maps(finish, seed)
    image = bpy.data.images.new(f"skin {finish} {seed}", MAP_PX, MAP_PX, float_buffer=True, is_data=True)
    rgba = np.ones((MAP_PX, MAP_PX, 4), np.float32)
    rgba[..., :3] = maps
    image.pixels.foreach_set(rgba.ravel())
    image.update()
    place = g.node("ShaderNodeTexCoord").outputs["Object"]
    uv = g.node(
        "ShaderNodeMapping", {"Vector": place, "Scale": (1 / MAP_MM, 1 / MAP_MM, 0), "Location": (0.5, 0.5, 0)}
    ).outputs[0]
    skin = g.node("ShaderNodeTexImage", {"Vector": uv}, image=image, interpolation="Linear").outputs[0]
    stain, rough, relief = g.node("ShaderNodeSeparateRGB", {0: skin}).outputs
    if finish == "patina":
        colour = g.mix(stain, _rgb(0.62, 0.42, 0.17), _rgb(0.085, 0.058, 0.034))
        metallic = g.math("SUBTRACT", 1.0, g.math("MULTIPLY", stain, 0.55))
    else:
        colour, metallic = g.mix(stain, _rgb(0.82, 0.61, 0.30), _rgb(0.36, 0.20, 0.08)), 1.0
    if finish == "lathe":
        tangent = g.node("ShaderNodeTangent", direction_type="RADIAL", axis="Z").outputs[0]
        g.set(Anisotropic=0.5, Tangent=tangent)
    return g.set(Base_Color=colour, Metallic=metallic, Roughness=rough, Normal=g.bump(relief, 0.001)).material


def steel(kind="bright"):
    colour, rough = ((0.53, 0.53, 0.54), 0.24) if kind == "bright" else ((0.20, 0.19, 0.18), 0.42)
    return plain(f"steel {kind}", colour, rough, 1.0)


def printed(image_path, ink=0.028, paper=0.80):
    """Matt paper with a printed raster: grey 0 becomes `ink`, 255 becomes `paper` reflectance."""
    g = Graph(f"print {image_path}")
    image = bpy.data.images.load(image_path, check_existing=True)
    image.colorspace_settings.name = "sRGB"
    uv = g.node("ShaderNodeTexCoord").outputs["UV"]
    texture = g.node("ShaderNodeTexImage", {"Vector": uv}, image=image, interpolation="Linear", extension="EXTEND")
    return g.matt(g.mix(texture.outputs[0], _rgb(ink, ink, ink * 1.04), _rgb(paper, paper, paper * 0.975)))


def plain_paper(tone=0.79):
    g = Graph("paper")
    return g.matt(_rgb(tone, tone, tone * 0.97))


def plain(name, colour, roughness=0.6, metallic=0.0):
    return Graph(name).set(Base_Color=_rgb(*colour), Roughness=roughness, Metallic=metallic).material


def bench(kind):
    g = Graph(f"bench {kind}")
    if kind == "cloth":
        weave = g.math(
            "MULTIPLY",
            g.node("ShaderNodeTexWave", {"Vector": g.local(), "Scale": 0.55, "Distortion": 0.6}, bands_direction="X").outputs["Fac"],
            g.node("ShaderNodeTexWave", {"Vector": g.local(), "Scale": 0.55, "Distortion": 0.6}, bands_direction="Y").outputs["Fac"],
        )
        return g.matt(g.mix(weave, _rgb(0.27, 0.30, 0.33), _rgb(0.44, 0.47, 0.50)))
    grain = g.noise(g.local((0.004, 0.09, 1), 0.1), 1.0, 3, 0.6)
    return g.matt(g.mix(grain, _rgb(0.19, 0.098, 0.045), _rgb(0.37, 0.22, 0.115)))
