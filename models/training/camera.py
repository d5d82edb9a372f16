"""From linear light to an 8-bit sRGB photograph, at random, in batches: lens, sensor, developing, JPEG."""

import math

import torch
from torch.nn import functional as F

LUMA = torch.tensor([[16, 11, 10, 16, 24, 40, 51, 61], [12, 12, 14, 19, 26, 58, 60, 55], [14, 13, 16, 24, 40, 57, 69, 56],
                     [14, 17, 22, 29, 51, 87, 80, 62], [18, 22, 37, 56, 68, 109, 103, 77], [24, 35, 55, 64, 81, 104, 113, 92],
                     [49, 64, 78, 87, 103, 121, 120, 101], [72, 92, 95, 98, 112, 100, 103, 99]], dtype=torch.float32)
CHROMA = torch.full((8, 8), 99.0)
CHROMA[:4, :4] = torch.tensor([[17, 18, 24, 47], [18, 21, 26, 66], [24, 26, 56, 99], [47, 66, 99, 99]], dtype=torch.float32)
# Both tables: ITU-T T.81, annex K (from memory).


def gaussian(x, sigma, reach):
    """Each picture with its own sigma, px; taps from -reach to reach, edges repeated."""
    b = x.shape[0]
    k = torch.arange(-reach, reach + 1, device=x.device, dtype=torch.float32)
    row = torch.exp(-(k[None] ** 2) / (2 * sigma[:, None] ** 2))
    row = (row / row.sum(1, keepdim=True)).to(x.dtype)
    for axis in (2, 3):
        size = x.shape[axis]
        padded = F.pad(x, (0, 0, reach, reach) if axis == 2 else (reach, reach, 0, 0), mode="replicate")
        x = sum(padded.narrow(axis, i, size) * row[:, i].view(b, 1, 1, 1) for i in range(2 * reach + 1))
    return x


def shake(x, length, angle):
    """Each picture smeared along a line of its own, px and rad."""
    b, _, h, w = x.shape
    out = torch.zeros_like(x)
    steps = 7
    for step in torch.linspace(-0.5, 0.5, steps).tolist():
        move = torch.zeros(b, 2, 3, device=x.device)
        move[:, 0, 0] = move[:, 1, 1] = 1
        move[:, 0, 2] = step * length * torch.cos(angle) * 2 / w
        move[:, 1, 2] = step * length * torch.sin(angle) * 2 / h
        grid = F.affine_grid(move, list(x.shape), align_corners=False).to(x.dtype)
        out += F.grid_sample(x, grid, mode="bilinear", padding_mode="border", align_corners=False) / steps
    return out


class Camera:
    def __init__(self, device, generator):
        self.device, self.g = device, generator
        k = torch.arange(8, dtype=torch.float32)
        d = torch.cos((2 * k[None] + 1) * k[:, None] * math.pi / 16) * 0.5
        d[0] *= math.sqrt(0.5)
        self.dct = d.to(device)
        self.luma, self.chroma = LUMA.to(device), CHROMA.to(device)

    def u(self, n, a, b):
        return a + (b - a) * torch.rand(n, device=self.device, generator=self.g)

    def n(self, *shape):
        return torch.randn(*shape, device=self.device, generator=self.g)

    def log(self, n, a, b):
        return torch.exp(self.u(n, math.log(a), math.log(b)))

    def chance(self, n, p):
        return (torch.rand(n, device=self.device, generator=self.g) < p).float()

    def take(self, linear):
        """(B, 3, H, W), linear, 1 is about white paper -> same type (half will do), whole numbers 0..255."""
        b, _, h, w = linear.shape
        x = linear
        kind = x.dtype
        c = lambda t: t.view(b, 1, 1, 1).to(kind)
        # fall-off of light and lens
        yy, xx = torch.meshgrid(torch.linspace(-1, 1, h, device=self.device), torch.linspace(-1, 1, w, device=self.device), indexing="ij")
        yy, xx = yy.to(kind), xx.to(kind)
        slope = 1 + c(self.n(b) * 0.12) * xx + c(self.n(b) * 0.12) * yy
        r2 = (xx - c(self.u(b, -0.8, 0.8))) ** 2 + (yy - c(self.u(b, -0.8, 0.8))) ** 2
        x = x * (slope * torch.exp(-c(self.u(b, 0, 0.22)) * r2)).clamp(min=0.15)
        # white balance: part of the cast is taken out, some is put in
        mean = x[:, :, ::2, ::2].float().mean((2, 3)).clamp(min=1e-4)
        grey = mean.mean(1, keepdim=True) / mean
        gain = grey ** (self.u(b, 0, 0.8) * self.chance(b, 0.7)).view(b, 1) * torch.exp(self.n(b, 3) * 0.06)
        x = x * gain.view(b, 3, 1, 1).to(kind)
        # exposure by the bright parts; now and then too much or too little
        bright = torch.quantile(x[:, 1, ::8, ::8].reshape(b, -1).float(), 0.85, dim=1).clamp(min=0.02)
        target = self.log(b, 0.35, 1.0)
        wrong = self.chance(b, 0.15)
        target = target * (1 - wrong) + self.log(b, 0.1, 2.2) * wrong
        x = (x * c(target / bright)).clamp(0, 8)
        x = self.blur(x)
        # noise: of light and of reading out, sometimes smoothed away again
        strength = c(self.log(b, 0.0007, 0.03))
        noise = torch.randn(b, 3, h, w, device=self.device, generator=self.g, dtype=kind) * strength * torch.sqrt(x.clamp(min=0) + 0.02)
        smooth = F.avg_pool2d(noise, 3, 1, 1) * 2
        pick = c(self.chance(b, 0.4))
        x = x + noise * (1 - pick) + smooth * pick
        # developing
        lum = x.mean(1, keepdim=True)
        x = lum + (x - lum) * c(self.u(b, 0.7, 1.35) * (1 - self.chance(b, 0.03)))
        x = x.clamp(0, 1)
        x = torch.where(x <= 0.0031308, 12.92 * x, 1.055 * x.clamp(min=0.0031308) ** (1 / 2.4) - 0.055)
        curve = c(self.u(b, -0.25, 0.8))
        x = x + curve * (x * x * (3 - 2 * x) - x)
        x = x.clamp(1e-4, 1) ** c(torch.exp(self.n(b) * 0.12))
        soft = F.avg_pool2d(F.pad(x, (1, 1, 1, 1), mode="replicate"), 3, 1)
        x = (x + c(self.u(b, 0, 1.3) * self.chance(b, 0.5)) * (x - soft)).clamp(0, 1)
        return self.jpeg(x * 255).round().clamp(0, 255)

    def blur(self, x):
        """Focus: five taps for most, thirteen for the few that are badly out; shake for some."""
        b = x.shape[0]
        heavy = torch.rand(b, device=self.device, generator=self.g) < 0.15
        shaken = torch.rand(b, device=self.device, generator=self.g) < 0.12
        x = gaussian(x, self.u(b, 0.05, 0.75), 2)
        few = heavy.nonzero()[:, 0]
        if len(few) > 0:
            x = x.index_copy(0, few, gaussian(x[few], self.u(len(few), 0.7, 2.4), 6))
        few = shaken.nonzero()[:, 0]
        if len(few) > 0:
            x = x.index_copy(0, few, shake(x[few], self.u(len(few), 1.5, 6), self.u(len(few), 0, math.pi)))
        return x

    def jpeg(self, x):
        b = x.shape[0]
        quality = self.u(b, 35, 97)
        scale = torch.where(quality < 50, 50 / quality, 2 - quality / 50).view(b, 1, 1)
        use = self.chance(b, 0.6).view(b, 1, 1, 1).to(x.dtype)
        r, g, bl = x[:, 0:1], x[:, 1:2], x[:, 2:3]
        y = 0.299 * r + 0.587 * g + 0.114 * bl
        cb, cr = (bl - y) * 0.564, (r - y) * 0.713
        y = self.quantise(y, self.luma * scale)
        chroma = F.avg_pool2d(torch.cat([cb, cr], 1), 2)
        chroma = F.interpolate(self.quantise(chroma, self.chroma * scale), scale_factor=2.0, mode="bilinear", align_corners=False)
        cb, cr = chroma[:, 0:1], chroma[:, 1:2]
        out = torch.cat([y + cr / 0.713, y - 0.344 * cb - 0.714 * cr, y + cb / 0.564], 1)
        return x * (1 - use) + out * use

    def quantise(self, x, table):
        # Columns, then rows, of blocks that stay where they are in memory.
        b, c, h, w = x.shape
        q = table.view(b, 1, 1, 8, 1, 8).clamp(min=1).to(x.dtype)
        d = self.dct.to(x.dtype)
        f = (d @ x.reshape(-1, 8, w)).view(-1, 8) @ d.T
        f = f.view(b, c, h // 8, 8, w // 8, 8)
        f = torch.round(f / q) * q
        f = (f.view(-1, 8) @ d).view(-1, 8, w)
        return (d.T @ f).view(b, c, h, w)
