"""Writes the trained ToothNet as ONNX with its description, and a test vector: the same input through PyTorch.

    python3 models/training/export_teeth.py WEIGHTS.pt OUT_FOLDER
"""

import hashlib
import json
import os
import sys

import numpy as np
import torch

from export import halve
from strips import ABOVE, ROWS
from tooth_network import ToothNet

NAME = "teeth"


def main():
    weights, out = sys.argv[1:3]
    os.makedirs(out, exist_ok=True)
    net = ToothNet().eval()
    net.load_state_dict(torch.load(weights, map_location="cpu"))
    path = os.path.join(out, f"{NAME}.onnx")
    torch.onnx.export(net, torch.rand(1, 3, ROWS, 96), path, opset_version=17, input_names=["strip"], output_names=["teeth"],
                      dynamic_axes={"strip": {3: "columns"}, "teeth": {2: "columns"}}, dynamo=False)
    halve(path)
    # A strip from a closed form that TypeScript repeats: see test/segment/.
    y, x = np.mgrid[0:ROWS, 0:128]
    strip = np.stack([np.sin(0.7 * x + 0.1 * k) * (y > 8 + k) + 0.01 * y for k in range(3)]).astype(np.float32)
    with torch.no_grad():
        net(torch.from_numpy(strip)[None])[0].numpy().astype("<f4").tofile(os.path.join(out, "teeth-32x128.f32"))
    data = open(path, "rb").read()
    info = dict(name=NAME, file=f"{NAME}.onnx", sha256=hashlib.sha256(data).hexdigest(), bytes=len(data), input="strip", output="teeth",
                rows=ROWS, above=ABOVE, licence="MIT", parameters=sum(p.numel() for p in net.parameters()))
    with open(os.path.join(out, f"{NAME}.json"), "w") as f:
        json.dump(info, f, indent=2)
        f.write("\n")
    print(json.dumps(info))


if __name__ == "__main__":
    main()
