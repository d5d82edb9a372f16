"""Writes the trained network as ONNX with its description, and a test vector: the same input through PyTorch.

    python3 models/training/export.py WEIGHTS.pt OUT_FOLDER

Weights are stored as half floats, half the size, and cast when the network is loaded; sums stay single floats.
"""

import hashlib
import json
import os
import sys

import numpy as np
import onnx
import torch
from onnx import TensorProto, helper, numpy_helper

from network import MetalNet, STRIDE
from read_onnx import OnnxNet

NAME = "metal"


def halve(path):
    """Stores every kernel as half floats, with a cast to single floats in front of what uses it."""
    model = onnx.load(path)
    graph = model.graph
    casts, kept = [], []
    for tensor in graph.initializer:
        values = numpy_helper.to_array(tensor)
        if values.ndim < 3:
            kept.append(tensor)
            continue
        kept.append(numpy_helper.from_array(values.astype(np.float16), f"{tensor.name}.half"))
        casts.append(helper.make_node("Cast", [f"{tensor.name}.half"], [tensor.name], to=TensorProto.FLOAT))
    nodes = casts + list(graph.node)
    del graph.initializer[:], graph.node[:]
    graph.initializer.extend(kept)
    graph.node.extend(nodes)
    onnx.checker.check_model(model)
    onnx.save(model, path)


def main():
    weights, out = sys.argv[1:3]
    os.makedirs(out, exist_ok=True)
    net = MetalNet().eval()
    net.load_state_dict(torch.load(weights, map_location="cpu"))
    path = os.path.join(out, f"{NAME}.onnx")
    example = torch.rand(1, 3, 64, 96) * 255
    sizes = {2: "height", 3: "width"}
    torch.onnx.export(net, example, path, opset_version=17, input_names=["rgb"], output_names=["logits"],
                      dynamic_axes={"rgb": sizes, "logits": sizes}, dynamo=False)
    halve(path)
    # A picture with something in it, from a closed form that TypeScript repeats: see test/segment/.
    h, w = 64, 96
    y, x = np.mgrid[0:h, 0:w]
    rgb = np.stack([(x * 7 + y * 13) % 256, (x * x + 3 * y) % 256, (((x - 48) ** 2 + (y - 32) ** 2) < 400) * 150 + 50]).astype(np.float32)
    rgb = torch.from_numpy(rgb)[None]
    with torch.no_grad():
        logits, whole = OnnxNet(path)(rgb)[0], net(rgb)[0]
    print(f"half floats change logits by {float((logits - whole).abs().max()):.4f} at most")
    logits.numpy().astype("<f4").tofile(os.path.join(out, "logits-64x96.f32"))
    data = open(path, "rb").read()
    info = dict(name=NAME, file=f"{NAME}.onnx", sha256=hashlib.sha256(data).hexdigest(), bytes=len(data), input="rgb", output="logits",
                stride=STRIDE, classes=["background", "wheel or plate metal", "steel arbor, pinion or pin", "hole through the part"],
                licence="MIT", parameters=sum(p.numel() for p in net.parameters()))
    with open(os.path.join(out, f"{NAME}.json"), "w") as f:
        json.dump(info, f, indent=2)
        f.write("\n")
    print(json.dumps(info))


if __name__ == "__main__":
    main()
