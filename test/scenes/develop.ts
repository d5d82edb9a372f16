import { random } from "./random.js";
import type { Light, Optics, Sensor } from "./scene.js";

/** Linear light to an 8-bit photograph: blur, lens shading, exposure, noise, clipping, encoding, sharpening. */
export function develop(
  linear: Float32Array,
  widthPx: number,
  heightPx: number,
  optics: Optics,
  light: Light,
  sensor: Sensor,
  seed: number,
): Uint8Array {
  if (optics.blurSigmaPx > 0) gaussianBlur(linear, widthPx, heightPx, 3, optics.blurSigmaPx);
  const [mx, my] = optics.motionPx;
  if (Math.hypot(mx, my) > 0) motionBlur(linear, widthPx, heightPx, mx, my);

  const gain = light.whiteBalance.map((w) => w * sensor.exposure);
  const normals = normalTable(seed);
  let state = (seed * 2654435761 + 12345) >>> 0;
  const cx = (widthPx - 1) / 2;
  const cy = (heightPx - 1) / 2;
  const corner2 = cx * cx + cy * cy;
  const out = new Uint8Array(widthPx * heightPx * 3);
  const encoded = sensor.sharpen > 0 ? new Float32Array(linear.length) : undefined;
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) {
      const shade = 1 - (optics.vignette * ((x - cx) ** 2 + (y - cy) ** 2)) / corner2;
      const i = 3 * (y * widthPx + x);
      for (let k = 0; k < 3; k++) {
        let v = linear[i + k]! * gain[k]! * shade;
        if (sensor.shotNoise > 0 || sensor.readNoise > 0) {
          // xorshift32 picks from a table of normal deviates.
          state ^= state << 13;
          state ^= state >>> 17;
          state ^= state << 5;
          v += normals[state & 65535]! * Math.sqrt(sensor.shotNoise * Math.max(0, v) + sensor.readNoise ** 2);
        }
        const e = encodeSrgb(v < 0 ? 0 : v > 1 ? 1 : v);
        if (encoded) encoded[i + k] = e;
        else out[i + k] = Math.round(e);
      }
    }
  }
  if (encoded) {
    // Phones sharpen brightness, not colour (weights of ITU-R BT.601).
    const bright = new Float32Array(widthPx * heightPx);
    for (let i = 0; i < bright.length; i++) {
      bright[i] = 0.299 * encoded[3 * i]! + 0.587 * encoded[3 * i + 1]! + 0.114 * encoded[3 * i + 2]!;
    }
    const soft = Float32Array.from(bright);
    gaussianBlur(soft, widthPx, heightPx, 1, 1.1);
    for (let i = 0; i < out.length; i++) {
      const j = (i - (i % 3)) / 3;
      const v = encoded[i]! + sensor.sharpen * (bright[j]! - soft[j]!);
      out[i] = Math.round(v < 0 ? 0 : v > 255 ? 255 : v);
    }
  }
  return out;
}

const srgbTable = Float32Array.from({ length: 8193 }, (_, i) => {
  const v = i / 8192;
  return 255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - 0.055);
});

/** Linear 0..1 to sRGB 0..255 (IEC 61966-2-1), by interpolation. */
function encodeSrgb(v: number): number {
  const t = v * 8192;
  const i = Math.min(8191, Math.floor(t));
  return srgbTable[i]! + (srgbTable[i + 1]! - srgbTable[i]!) * (t - i);
}

function normalTable(seed: number): Float32Array {
  const rng = random(seed, "sensor-noise");
  return Float32Array.from({ length: 65536 }, () => rng.normal());
}

/** In place; kernel integrated over each pixel is not needed: the samples are pixel means already. */
export function gaussianBlur(
  values: Float32Array,
  w: number,
  h: number,
  channels: number,
  sigma: number,
): void {
  const radius = Math.max(1, Math.ceil(3.7 * sigma));
  const kernel = Float64Array.from({ length: radius + 1 }, (_, i) =>
    Math.exp(-(i * i) / (2 * sigma * sigma)),
  );
  let sum = kernel[0]!;
  for (let i = 1; i <= radius; i++) sum += 2 * kernel[i]!;
  for (let i = 0; i <= radius; i++) kernel[i]! /= sum;
  const row = new Float32Array((w + 2 * radius) * channels);
  for (let y = 0; y < h; y++) {
    const start = y * w * channels;
    row.set(values.subarray(start, start + w * channels), radius * channels);
    for (let i = 0; i < radius; i++)
      for (let c = 0; c < channels; c++) {
        row[i * channels + c] = values[start + c]!;
        row[(w + radius + i) * channels + c] = values[start + (w - 1) * channels + c]!;
      }
    for (let i = 0; i < w * channels; i++) {
      const middle = i + radius * channels;
      let v = kernel[0]! * row[middle]!;
      for (let k = 1; k <= radius; k++)
        v += kernel[k]! * (row[middle - k * channels]! + row[middle + k * channels]!);
      values[start + i] = v;
    }
  }
  // Columns in strips, so that the lines that are read together stay in the cache.
  const line = w * channels;
  const strip = 96;
  const columnBuffer = new Float32Array((h + 2 * radius) * strip);
  for (let c0 = 0; c0 < line; c0 += strip) {
    const n = Math.min(strip, line - c0);
    for (let y = -radius; y < h + radius; y++) {
      const from = Math.min(h - 1, Math.max(0, y)) * line + c0;
      columnBuffer.set(values.subarray(from, from + n), (y + radius) * strip);
    }
    for (let y = 0; y < h; y++) {
      const middle = (y + radius) * strip;
      const target = y * line + c0;
      for (let i = 0; i < n; i++) {
        let v = kernel[0]! * columnBuffer[middle + i]!;
        for (let k = 1; k <= radius; k++)
          v += kernel[k]! * (columnBuffer[middle + i - k * strip]! + columnBuffer[middle + i + k * strip]!);
        values[target + i] = v;
      }
    }
  }
}

/** Mean along a straight line of the given length, centred, so that edges do not move. */
function motionBlur(values: Float32Array, w: number, h: number, mx: number, my: number): void {
  const weights = new Map<string, [number, number, number]>();
  const steps = 65;
  const add = (x: number, y: number, weight: number): void => {
    const key = `${x},${y}`;
    const old = weights.get(key);
    weights.set(key, [x, y, weight + (old ? old[2] : 0)]);
  };
  for (let k = 0; k < steps; k++) {
    const t = k / (steps - 1) - 0.5;
    const x = t * mx;
    const y = t * my;
    const fx = Math.floor(x);
    const fy = Math.floor(y);
    const u = x - fx;
    const v = y - fy;
    add(fx, fy, ((1 - u) * (1 - v)) / steps);
    add(fx + 1, fy, (u * (1 - v)) / steps);
    add(fx, fy + 1, ((1 - u) * v) / steps);
    add(fx + 1, fy + 1, (u * v) / steps);
  }
  const taps = [...weights.values()].filter((tap) => tap[2] > 1e-9);
  const source = Float32Array.from(values);
  for (let y = 0; y < h; y++)
    for (let x = 0; x < w; x++) {
      const i = 3 * (y * w + x);
      let r = 0;
      let g = 0;
      let b = 0;
      for (const [dx, dy, weight] of taps) {
        const j = 3 * (Math.min(h - 1, Math.max(0, y + dy)) * w + Math.min(w - 1, Math.max(0, x + dx)));
        r += weight * source[j]!;
        g += weight * source[j + 1]!;
        b += weight * source[j + 2]!;
      }
      values[i] = r;
      values[i + 1] = g;
      values[i + 2] = b;
    }
}
