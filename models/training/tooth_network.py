"""The network that tells teeth along a strip of a rim: pictures in, place within the pitch out."""

from torch import nn
from torch.nn import functional as F


class Along(nn.Module):
    """Looks along the rim, `far` columns to both sides at a time."""

    def __init__(self, c, far):
        super().__init__()
        self.first = nn.Conv1d(c, c, 3, padding=far, dilation=far, bias=False)
        self.second = nn.Conv1d(c, c, 3, padding=1, bias=False)
        self.norms = nn.ModuleList([nn.BatchNorm1d(c), nn.BatchNorm1d(c)])
        nn.init.zeros_(self.norms[1].weight)

    def forward(self, x):
        y = F.relu(self.norms[0](self.first(x)))
        return F.relu(x + self.norms[1](self.second(y)))


class ToothNet(nn.Module):
    """Strips (B, 3, 32, C), normalised -> (B, 3, C): cosine and sine of the place in the pitch, logit of a tooth."""

    def __init__(self, wide=64):
        super().__init__()
        part = lambda i, o, kernel, stride, pad: nn.Sequential(
            nn.Conv2d(i, o, kernel, stride, pad, bias=False), nn.BatchNorm2d(o), nn.ReLU(inplace=True))
        self.across = nn.Sequential(
            part(3, 24, (3, 3), 1, 1),
            part(24, 32, (4, 3), (2, 1), (1, 1)),
            part(32, 48, (4, 3), (2, 1), (1, 1)),
            part(48, wide, (8, 3), 1, (0, 1)),
        )
        self.along = nn.Sequential(*[Along(wide, far) for far in (1, 2, 4, 8, 16, 32, 8, 2)])
        self.head = nn.Conv1d(wide, 3, 1)

    def forward(self, x):
        return self.head(self.along(self.across(x).squeeze(2)))
