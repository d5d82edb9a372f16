"""Writes the trained network as ONNX with its description, and a test vector: the same input through PyTorch.

    python3 models/training/export.py WEIGHTS.pt OUT_FOLDER
"""

import hashlib
import json
import os
import sys

import numpy as np
import torch

from network import MetalNet, STRIDE

NAME = "metal"


def main():
    weights, out = sys.argv[1:3]
    os.makedirs(out, exist_ok=True)
    net = MetalNet().eval()
    net.load_state_dict(torch.load(weights, map_location="cpu"))
    path = os.path.join(out, f"{NAME}.onnx")
    example = torch.rand(1, 3, 64, 96) * 255
    sizes = {2: "height", 3: "width"}
    extra = {"dynamo": False} if torch.__version__ >= "2.5" else {}
    torch.onnx.export(net, example, path, opset_version=17 if extra else 16, input_names=["rgb"], output_names=["logits"],
                      dynamic_axes={"rgb": sizes, "logits": sizes}, **extra)
    # A picture with something in it, from a closed form that TypeScript repeats: see test/segment/.
    h, w = 64, 96
    y, x = np.mgrid[0:h, 0:w]
    rgb = np.stack([(x * 7 + y * 13) % 256, (x * x + 3 * y) % 256, (((x - 48) ** 2 + (y - 32) ** 2) < 400) * 150 + 50]).astype(np.float32)
    with torch.no_grad():
        logits = net(torch.from_numpy(rgb)[None])[0].numpy().astype("<f4")
    logits.tofile(os.path.join(out, "logits-64x96.f32"))
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
