"""Draws the curves of a training run as SVG.

    python3 models/training/draw_curve.py models/training/runs/run.csv > models/training/runs/curves.svg
"""

import csv
import sys

WIDTH, HEIGHT, LEFT, TOP = 760, 340, 46, 24
LINES = [("loss", "#555555"), ("seen_metal_mat", "#1b6ca8"), ("seen_metal_off", "#7fb2d6"), ("held_metal_mat", "#b3541e"), ("held_metal_off", "#e0a878")]


def main():
    with open(sys.argv[1]) as f:
        rows = [(float(row["seconds"]), row) for row in csv.DictReader(f)]
    whole = rows[-1][0]
    x = lambda s: LEFT + s / whole * (WIDTH - LEFT - 12)
    y = lambda v: TOP + (1 - v) * (HEIGHT - TOP - 40)
    out = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" font-family="sans-serif" font-size="11">',
           f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#ffffff"/>']
    for k in range(0, 11, 2):
        out.append(f'<path d="M{LEFT} {y(k / 10):.1f}H{WIDTH - 12}" stroke="#dddddd"/><text x="{LEFT - 24}" y="{y(k / 10) + 4:.1f}">{k / 10}</text>')
    for n, (name, colour) in enumerate(LINES):
        points = " ".join(f"{x(s):.1f},{y(min(1.0, float(r[name]))):.1f}" for s, r in rows)
        out.append(f'<polyline points="{points}" fill="none" stroke="{colour}" stroke-width="1.6"/>')
        out.append(f'<text x="{LEFT + n * 130}" y="14" fill="{colour}">{name.replace("_", " ")}</text>')
    out.append(f'<text x="{LEFT}" y="{HEIGHT - 8}">time, {whole:.0f} s in all; loss cut off at 1; the others: intersection over union</text></svg>')
    print("\n".join(out))


if __name__ == "__main__":
    main()
