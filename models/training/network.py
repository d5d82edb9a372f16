"""The network: a small U-shaped convolutional net. Works at half size and below; the last step unfolds to full size."""

import torch
from torch import nn
from torch.nn import functional as F

CLASSES = 4  # background, wheel or plate metal, steel arbor/pinion/pin, hole through the part
STRIDE = 32  # height and width must be multiples of this


def conv(c_in, c_out, size=3, stride=1):
    return nn.Sequential(
        nn.Conv2d(c_in, c_out, size, stride, size // 2, bias=False),
        nn.BatchNorm2d(c_out),
        nn.ReLU(inplace=True),
    )


class Residual(nn.Module):
    def __init__(self, c):
        super().__init__()
        self.first = conv(c, c)
        self.second = nn.Sequential(nn.Conv2d(c, c, 3, 1, 1, bias=False), nn.BatchNorm2d(c))
        # Starts as nothing but the way past it.
        nn.init.zeros_(self.second[1].weight)

    def forward(self, x):
        return F.relu(x + self.second(self.first(x)))


class Whole(nn.Module):
    """Adds what the picture is like as a whole: its light, its surface."""

    def __init__(self, c):
        super().__init__()
        self.inner, self.outer = nn.Conv2d(c, c // 2, 1), nn.Conv2d(c // 2, c, 1)
        nn.init.zeros_(self.outer.weight)
        nn.init.zeros_(self.outer.bias)

    def forward(self, x):
        return x + self.outer(F.relu(self.inner(F.adaptive_avg_pool2d(x, 1))))


class MetalNet(nn.Module):
    """RGB (N, 3, H, W), sRGB values 0..255 -> logits (N, 4, H, W). H and W multiples of 32.

    Widths are multiples of 16, which processors take at a time. Weights sit where pictures are small: cheap there.
    """

    def __init__(self, widths=(32, 48, 64, 112, 192), down=(0, 0, 1, 3, 3), up=(1, 0, 1, 1)):
        super().__init__()
        w = widths
        self.stem = conv(3, w[0], 5, 2)
        self.stages = nn.ModuleList()
        for level in range(5):
            layers = [conv(w[level - 1], w[level], 3, 2)] if level > 0 else []
            layers += [Residual(w[level]) for _ in range(down[level])]
            self.stages.append(nn.Sequential(*layers))
        self.whole = Whole(w[4])
        self.across = nn.ModuleList([conv(w[i + 1], w[i], 1) for i in range(4)])
        self.merge = nn.ModuleList(
            [nn.Sequential(conv(w[i], w[i]), *[Residual(w[i]) for _ in range(up[i])]) for i in range(4)]
        )
        self.head = nn.Conv2d(w[0], CLASSES * 4, 1)

    def forward(self, x):
        x = self.stem((x - 118.0) / 64.0)
        kept = []
        for stage in self.stages:
            x = stage(x)
            kept.append(x)
        x = self.whole(x)
        for level in (3, 2, 1, 0):
            x = self.merge[level](F.interpolate(self.across[level](x), scale_factor=2.0, mode="nearest") + kept[level])
        return F.pixel_shuffle(self.head(x), 2)
