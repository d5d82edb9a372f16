"""Runs an exported network in PyTorch, so that scores belong to the very file that ships.

Knows the operators that export.py writes, and no others.
"""

import numpy as np
import onnx
import torch
from onnx import numpy_helper
from torch import nn
from torch.nn import functional as F

from network import MetalNet


class OnnxNet(nn.Module):
    """RGB (N, 3, H, W), sRGB values 0..255 -> logits (N, 4, H, W), as the file says."""

    def __init__(self, path):
        super().__init__()
        graph = onnx.load(path).graph
        self.nodes, self.out = list(graph.node), graph.output[0].name
        self.slots = {}
        for i, tensor in enumerate(graph.initializer):
            self.slots[tensor.name] = f"w{i}"
            self.register_buffer(f"w{i}", torch.from_numpy(np.array(numpy_helper.to_array(tensor))))

    def forward(self, rgb):
        values = {"rgb": rgb}
        for node in self.nodes:
            at = {a.name: onnx.helper.get_attribute_value(a) for a in node.attribute}
            x = [values[n] if n in values else getattr(self, self.slots[n]) if n in self.slots else None for n in node.input]
            values[node.output[0]] = self.apply_node(node.op_type, at, x, rgb)
        return values[self.out]

    @staticmethod
    def apply_node(kind, at, x, rgb):
        if kind == "Constant":
            return torch.from_numpy(np.array(numpy_helper.to_array(at["value"]))).to(rgb.device)
        if kind == "Cast":
            return x[0].float()
        if kind == "Sub":
            return x[0] - x[1]
        if kind == "Div":
            return x[0] / x[1]
        if kind == "Mul":
            return x[0] * x[1]
        if kind == "Add":
            return x[0] + x[1]
        if kind == "Relu":
            return F.relu(x[0])
        if kind == "Concat":
            return torch.cat(x, at["axis"])
        if kind == "Resize":
            return F.interpolate(x[0], scale_factor=2.0, mode="nearest")
        if kind == "GlobalAveragePool":
            return F.adaptive_avg_pool2d(x[0], 1)
        if kind == "DepthToSpace":
            return F.pixel_shuffle(x[0], at["blocksize"])
        if kind == "Conv":
            return F.conv2d(x[0], x[1], x[2] if len(x) > 2 else None, stride=at["strides"], padding=at["pads"][:2])
        raise ValueError(f"{kind} is not among the operators that export.py writes")


def load_network(path, device):
    """A network from an exported file (.onnx) or from training (.pt), ready to be asked."""
    if path.endswith(".onnx"):
        net = OnnxNet(path)
    else:
        net = MetalNet()
        net.load_state_dict(torch.load(path, map_location="cpu"))
    return net.to(device).eval()
