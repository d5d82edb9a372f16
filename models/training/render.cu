// Ray tracer for training scenes: one picture (linear light) and one class map per scene.
//
// The same file builds for a GPU (nvcc -shared) and for a processor (g++ -x c++): see renderer.py, which also
// documents the packed arrays. Millimetres; z = 0 is the table, z up; pixel (0, 0) is the centre of the first.
// Bodies are extruded plane regions (wheels, discs, plates, strips, spirals) or round bodies found by distance
// (rods, rings, ellipsoids).

#include <math.h>
#include <stdint.h>

#ifdef __CUDACC__
#define FN __device__ static inline
#else
#define FN static inline
#endif

// ---- packed layout (renderer.py holds the same numbers) ----
enum { SCENE_F = 192, PART_F = 64, MAX_PARTS = 28, TABLE_F = 4096, MARKERS_MAX = 64, BOXES_MAX = 40 };
enum { PROFILE_N = 24 };
enum Shape { WHEEL = 0, DISC = 1, PLATE = 2, STRIP = 3, SPIRAL = 4, ROD = 5, RING = 6, ELLIPSOID = 7 };
enum Finish { MATT = 0, TURNED = 1, BRUSHED = 2, POLISHED = 3, PAINT = 4, SKIN = 5, CARD = 6 };
// scene: camera
enum { S_EYE = 0, S_RIGHT = 3, S_DOWN = 6, S_AHEAD = 9, S_PARTS = 12, S_SEED = 13, S_LIGHTS = 14 };
enum { S_LIGHT = 16 /* 3 x (x y z radius r g b) */, S_AMBIENT = 37 /* rgb */, S_ENVLOW = 40, S_ENVHIGH = 43 };
enum { S_BLOB = 46 /* 6 x (x y width amount warm) */, S_SHADOW = 76, S_GROUND = 80, S_UNDER = 100, S_MAT = 120 };
// ground block: kind, colour a, colour b, colour c, scale, angle, amount, seed, gloss
enum { G_KIND = 0, G_A = 1, G_B = 4, G_C = 7, G_SCALE = 10, G_ANGLE = 11, G_AMOUNT = 12, G_SEED = 13, G_GLOSS = 14 };
// mat block: paper index (or -1), x, y, turn, scale across, along, ink, paper rgb
enum { M_PAPER = 0, M_X = 1, M_Y = 2, M_TURN = 3, M_SX = 4, M_SY = 5, M_INK = 6, M_RGB = 7 };
// part
enum { P_SHAPE = 0, P_R = 1, P_Z0 = 2, P_Z1 = 3, P_ORIGIN = 4, P_ROT = 7, P_CLASS = 16, P_HOLE = 17, P_N = 18 };
enum { P_TIP = 19, P_ROOT = 20, P_BORE = 21, P_RIM = 22, P_HUB = 23, P_ARMHUB = 24, P_ARMRIM = 25, P_FILLET = 26 };
enum { P_CURVE = 27, P_ARMS = 28, P_PHASE = 29, P_PROFILE = 30, P_TEETH = 31, P_WEB = 32, P_COLOUR = 33 };
enum { P_ROUGH = 36, P_FINISH = 37, P_MOTTLE = 38, P_MCOLOUR = 39, P_MSCALE = 42, P_SCRATCH = 43, P_ENGRAVE = 44 };
enum { P_SEED = 45, P_BEVEL = 46, P_KD = 47, P_GROOVE = 48, P_BRADIUS = 49, P_BX = 50, P_BY = 51, P_BZ = 52 };
enum { P_HALFX = 53, P_HALFY = 54, P_HOLES = 55, P_HOLECOUNT = 56, P_THREAD = 57 };

struct V { float x, y, z; };
FN V v3(float x, float y, float z) { V v = {x, y, z}; return v; }
FN V at3(const float *p) { return v3(p[0], p[1], p[2]); }
FN V operator+(V a, V b) { return v3(a.x + b.x, a.y + b.y, a.z + b.z); }
FN V operator-(V a, V b) { return v3(a.x - b.x, a.y - b.y, a.z - b.z); }
FN V operator*(V a, float s) { return v3(a.x * s, a.y * s, a.z * s); }
FN V operator*(V a, V b) { return v3(a.x * b.x, a.y * b.y, a.z * b.z); }
FN float dot(V a, V b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
FN V unit(V a) { return a * (1.0f / sqrtf(dot(a, a) + 1e-20f)); }
FN V cross(V a, V b) { return v3(a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x); }
FN V mix(V a, V b, float t) { return a + (b - a) * t; }
FN float mixf(float a, float b, float t) { return a + (b - a) * t; }
FN float clampf(float x, float lo, float hi) { return x < lo ? lo : (x > hi ? hi : x); }
FN float smooth(float a, float b, float x) { float t = clampf((x - a) / (b - a), 0.f, 1.f); return t * t * (3.f - 2.f * t); }

// ---- noise ----
FN uint32_t mixbits(uint32_t h) {
  h ^= h >> 16; h *= 0x7feb352dU; h ^= h >> 15; h *= 0x846ca68bU; h ^= h >> 16;
  return h;
}
FN float hash3(int x, int y, int s) {
  uint32_t h = mixbits((uint32_t)x * 0x9E3779B1U + mixbits((uint32_t)y * 0x85EBCA77U + mixbits((uint32_t)s)));
  return (h >> 8) * (1.0f / 16777216.0f);
}
FN float noise2(float x, float y, int s) {
  float fx = floorf(x), fy = floorf(y);
  int i = (int)fx, j = (int)fy;
  float u = x - fx, v = y - fy;
  u = u * u * (3.f - 2.f * u); v = v * v * (3.f - 2.f * v);
  float a = mixf(hash3(i, j, s), hash3(i + 1, j, s), u), b = mixf(hash3(i, j + 1, s), hash3(i + 1, j + 1, s), u);
  return mixf(a, b, v) * 2.f - 1.f;
}
FN float fbm(float x, float y, int s) {
  return 0.5f * noise2(x, y, s) + 0.3f * noise2(2.1f * x + 5.3f, 2.1f * y, s + 1) + 0.2f * noise2(4.3f * x, 4.3f * y + 9.1f, s + 2);
}

// ---- regions in the plane ----
FN bool insideWheel(const float *p, const float *tab, float x, float y) {
  const float pi = 3.14159265f;
  float r2 = x * x + y * y, tip = p[P_TIP], bore = p[P_BORE], root = p[P_ROOT];
  if (r2 > tip * tip || r2 < bore * bore) return false;
  float r = sqrtf(r2);
  float angle = atan2f(y, x) - p[P_PHASE];
  if (r > root) {
    int n = (int)p[P_N];
    const float *profile = tab + (int)p[P_PROFILE];
    const float *teeth = tab + (int)p[P_TEETH];
    float t = (r - root) / (tip - root);
    float turns = angle * n / (2.f * pi);
    float k0 = floorf(turns);
    float ti = t * (PROFILE_N - 1);
    int a = (int)ti; if (a > PROFILE_N - 2) a = PROFILE_N - 2;
    float f = ti - a;
    float left = mixf(profile[a], profile[a + 1], f), right = mixf(profile[PROFILE_N + a], profile[PROFILE_N + a + 1], f);
    for (int d = 0; d < 2; d++) {
      int k = ((int)k0 + d) % n; if (k < 0) k += n;
      if (t > teeth[2 * k]) continue;
      float l = turns - (k0 + d) - teeth[2 * k + 1] * t * t;
      if (l >= left && l <= right) return true;
    }
    return false;
  }
  int web = (int)p[P_WEB];
  if (web == 0) return true;
  float rim = p[P_RIM], hub = p[P_HUB];
  if (r >= rim || r <= hub) return true;
  float step = 2.f * pi / p[P_ARMS];
  if (web == 2) { // round holes
    float a = angle - p[P_CURVE]; a -= step * rintf(a / step);
    float c = 0.5f * (rim + hub), dx = r * cosf(a) - c, dy = r * sinf(a);
    float h = p[P_ARMHUB];
    return dx * dx + dy * dy > h * h;
  }
  float s = (r - hub) / (rim - hub);
  float a = angle - p[P_CURVE] * s; a -= step * rintf(a / step);
  float w = mixf(p[P_ARMHUB], p[P_ARMRIM], s), fil = p[P_FILLET];
  float q = (r - hub) / fil;
  if (q < 1.f) w += fil * (1.f - sqrtf(1.f - (1.f - q) * (1.f - q)));
  q = (rim - r) / fil;
  if (q < 1.f) w += fil * (1.f - sqrtf(1.f - (1.f - q) * (1.f - q)));
  return fabsf(r * sinf(a)) < w && fabsf(a) < 1.5f;
}

FN bool inside(const float *p, const float *tab, float x, float y) {
  switch ((int)p[P_SHAPE]) {
    case WHEEL: return insideWheel(p, tab, x, y);
    case DISC: {
      float r2 = x * x + y * y;
      if (r2 < p[P_BORE] * p[P_BORE]) return false;
      if (p[P_N] < 3.f) return r2 < p[P_TIP] * p[P_TIP];
      float step = 6.2831853f / p[P_N], a = atan2f(y, x); a -= step * rintf(a / step);
      return sqrtf(r2) * cosf(a) < p[P_TIP] * cosf(step * 0.5f);
    }
    case PLATE: {
      float hx = p[P_HALFX], hy = p[P_HALFY], c = p[P_FILLET];
      float qx = fabsf(x) - hx + c, qy = fabsf(y) - hy + c;
      if (qx > c || qy > c) return false;
      if (qx > 0.f && qy > 0.f && qx * qx + qy * qy > c * c) return false;
      const float *h = tab + (int)p[P_HOLES];
      int n = (int)p[P_HOLECOUNT];
      for (int i = 0; i < n; i++, h += 4) {
        float dx = x - h[0], dy = y - h[1];
        if (h[3] > 0.f ? dx * dx + dy * dy < h[2] * h[2] : (fabsf(dx) < h[2] && fabsf(dy) < -h[3])) return false;
      }
      return true;
    }
    case STRIP: {
      float hx = p[P_HALFX];
      if (fabsf(x) > hx) return false;
      float w = mixf(p[P_HALFY], p[P_ARMRIM], 0.5f + 0.5f * x / hx);
      return fabsf(y - p[P_CURVE] * x * x / hx) < w;
    }
    default: { // SPIRAL
      float r2 = x * x + y * y;
      if (r2 > p[P_TIP] * p[P_TIP] || r2 < p[P_BORE] * p[P_BORE]) return false;
      float u = (sqrtf(r2) - p[P_GROOVE] * atan2f(y, x) / 6.2831853f) / p[P_GROOVE];
      return u - floorf(u) < p[P_ARMRIM];
    }
  }
}

FN float distanceTo(const float *p, V q) {
  switch ((int)p[P_SHAPE]) {
    case ROD: {
      float hx = p[P_HALFX], x = clampf(q.x, -hx, hx), s = 0.5f + 0.5f * x / hx;
      float rad = mixf(p[P_HALFY], p[P_ARMRIM], s);
      float yz = sqrtf(q.y * q.y + q.z * q.z), out = fabsf(q.x) - hx;
      // flat ends unless P_CURVE says round
      if (p[P_CURVE] > 0.5f) return sqrtf((q.x - x) * (q.x - x) + yz * yz) - rad;
      return fmaxf(out, yz - rad);
    }
    case RING: {
      float a = sqrtf(q.x * q.x + q.y * q.y) - p[P_TIP];
      return sqrtf(a * a + q.z * q.z) - p[P_HALFY];
    }
    default: {
      V s = v3(q.x / p[P_HALFX], q.y / p[P_HALFY], q.z / p[P_ARMRIM]);
      float k = sqrtf(dot(s, s));
      return (k - 1.f) * fminf(p[P_HALFX], fminf(p[P_HALFY], p[P_ARMRIM]));
    }
  }
}

FN V toLocal(const float *p, V w) {
  const float *r = p + P_ROT; // columns are the part's axes in the world
  return v3(r[0] * w.x + r[3] * w.y + r[6] * w.z, r[1] * w.x + r[4] * w.y + r[7] * w.z, r[2] * w.x + r[5] * w.y + r[8] * w.z);
}
FN V toWorld(const float *p, V l) {
  const float *r = p + P_ROT;
  return v3(r[0] * l.x + r[1] * l.y + r[2] * l.z, r[3] * l.x + r[4] * l.y + r[5] * l.z, r[6] * l.x + r[7] * l.y + r[8] * l.z);
}

struct Hit { float t; int part; int kind; V local; V normal; }; // kind 1 top, 2 bevel, 3 wall, 4 round body

FN bool meetsBall(const float *p, V o, V d, float dd, float tmax) {
  V c = v3(p[P_BX], p[P_BY], p[P_BZ]) - o;
  float b = dot(c, d) / dd, rad = p[P_BRADIUS];
  if (b < 0.f) b = 0.f; if (b > tmax) b = tmax;
  V q = c - d * b;
  return dot(q, q) < rad * rad;
}

// First meeting of a ray with one part before tmax. `fine` for what the camera sees, coarse for shadows.
FN bool meetPart(const float *p, const float *tab, V ow, V dw, float tmin, float tmax, bool fine, float &tOut, int &kind) {
  V o = toLocal(p, ow - at3(p + P_ORIGIN)), d = toLocal(p, dw);
  float z0 = p[P_Z0], z1 = p[P_Z1], R = p[P_R];
  float inv = 1.0f / (fabsf(d.z) < 1e-6f ? (d.z < 0 ? -1e-6f : 1e-6f) : d.z);
  float ta = (z1 - o.z) * inv, tb = (z0 - o.z) * inv;
  float tn = fminf(ta, tb), tf = fmaxf(ta, tb);
  float a = d.x * d.x + d.y * d.y, b = o.x * d.x + o.y * d.y, c = o.x * o.x + o.y * o.y - R * R;
  bool throughFace = true;
  if (a > 1e-12f) {
    float disc = b * b - a * c;
    if (disc <= 0.f) return false;
    float s = sqrtf(disc), c0 = (-b - s) / a, c1 = (-b + s) / a;
    if (c0 > tn) { tn = c0; throughFace = false; }
    if (c1 < tf) tf = c1;
  } else if (c > 0.f) return false;
  if (tn < tmin) { tn = tmin; throughFace = false; }
  if (tf > tmax) tf = tmax;
  if (tn >= tf) return false;
  if ((int)p[P_SHAPE] >= ROD) {
    float t = tn, len = sqrtf(dot(d, d));
    for (int i = 0; i < (fine ? 48 : 20); i++) {
      float s = distanceTo(p, o + d * t);
      if (s < 0.01f) { tOut = t; kind = 4; return true; }
      t += 0.85f * s / len + 1e-4f;
      if (t > tf) return false;
    }
    return false;
  }
  V q = o + d * tn;
  if (inside(p, tab, q.x, q.y)) { tOut = tn; kind = throughFace ? 1 : 3; return true; }
  float across = sqrtf(a) * (tf - tn);
  float feature = fine ? 0.1f : 0.3f;
  int most = fine ? 40 : 12, n = (int)ceilf(across / feature);
  if (n < 1) n = 1; if (n > most) n = most;
  float step = (tf - tn) / n;
  for (int i = 1; i <= n; i++) {
    float t = tn + step * i;
    if (inside(p, tab, o.x + d.x * t, o.y + d.y * t)) {
      if (fine) {
        float lo = t - step, hi = t;
        for (int k = 0; k < 5; k++) { float m = 0.5f * (lo + hi); if (inside(p, tab, o.x + d.x * m, o.y + d.y * m)) hi = m; else lo = m; }
        t = hi;
      }
      tOut = t; kind = 3; return true;
    }
  }
  return false;
}

FN V regionNormal(const float *p, const float *tab, float x, float y, float eps) {
  const float cx[8] = {1.f, .7071f, 0.f, -.7071f, -1.f, -.7071f, 0.f, .7071f};
  float nx = 0.f, ny = 0.f;
  for (int k = 0; k < 8; k++) {
    float ux = cx[k], uy = cx[(k + 6) & 7];
    if (!inside(p, tab, x + eps * ux, y + eps * uy)) { nx += ux; ny += uy; }
  }
  return v3(nx, ny, 0.f);
}

FN bool trace(const float *parts, int count, const float *tab, V o, V d, float tmax, Hit &hit) {
  hit.t = tmax; hit.part = -1; hit.kind = 0;
  float dd = dot(d, d);
  for (int i = 0; i < count; i++) {
    const float *p = parts + i * PART_F;
    if (!meetsBall(p, o, d, dd, hit.t)) continue;
    float t; int kind;
    if (meetPart(p, tab, o, d, 1e-3f, hit.t, true, t, kind)) { hit.t = t; hit.part = i; hit.kind = kind; }
  }
  return hit.part >= 0;
}

FN bool blocked(const float *parts, int count, const float *tab, V o, V d, float tmax, int skip) {
  float dd = dot(d, d);
  for (int i = 0; i < count; i++) {
    const float *p = parts + i * PART_F;
    if (i == skip || !meetsBall(p, o, d, dd, tmax)) continue;
    float t; int kind;
    if (meetPart(p, tab, o, d, 0.02f, tmax, false, t, kind)) return true;
  }
  return false;
}

// Any of a great many patterns: three layers, each of a kind, scale, stretch and direction drawn from the seed.
FN V pattern(V a, V b, V c, float x, float y, int seed, float amount) {
  V col = a;
  for (int i = 0; i < 3; i++) {
    float turn = 6.28f * hash3(seed, i, 1), s = expf(3.6f * hash3(seed, i, 2) - 2.f), stretch = expf(1.8f * hash3(seed, i, 3));
    if (hash3(seed, i, 9) > 0.6f) stretch = 1.f;
    float ct = cosf(turn), st = sinf(turn), u = (ct * x + st * y) * s / stretch, v = (-st * x + ct * y) * s;
    float w = amount * (0.15f + 0.85f * hash3(seed, i, 4)), k, hard = hash3(seed, i, 6);
    switch ((int)(hash3(seed, i, 5) * 8.f)) {
      case 0: k = 0.5f + 0.8f * fbm(u, v, seed + 10 * i); break;
      case 1: k = 1.f - 3.f * fabsf(fbm(u * 0.6f, v * 0.6f, seed + 10 * i)); break;
      case 2: k = smooth(-0.3f * (1.f - hard), 0.05f + 0.3f * (1.f - hard), fbm(u, v, seed + 10 * i)); break;
      case 3: k = 0.5f + 0.5f * sinf(v * 2.f + 2.5f * fbm(u * 0.3f, v * 0.3f, seed + 10 * i) * hard); break;
      case 4: { float du = u - rintf(u), dv = v - rintf(v); k = smooth(0.38f, 0.3f, sqrtf(du * du + dv * dv)); break; }
      case 5: k = hash3((int)floorf(u * 3.f), (int)floorf(v * 3.f), seed + i) > 0.4f + 0.55f * hard ? 1.f : 0.f; break;
      case 6: { float du = fabsf(u - rintf(u)), dv = fabsf(v - rintf(v)); k = fminf(du, dv) < 0.04f + 0.15f * hard ? 1.f : 0.f; break; }
      default: k = 0.5f + 0.5f * noise2(u * 0.3f, v * 6.f, seed + 10 * i); break;
    }
    col = mix(col, i == 0 ? b : (i == 1 ? c : (a + b) * 0.3f), clampf(k, 0.f, 1.f) * w);
  }
  return col;
}

// ---- ground ----
FN V groundColour(const float *g, float x, float y, float pixelMm) {
  V a = at3(g + G_A), b = at3(g + G_B), c = at3(g + G_C);
  float s = g[G_SCALE], am = g[G_AMOUNT], ca = cosf(g[G_ANGLE]), sa = sinf(g[G_ANGLE]);
  int seed = (int)g[G_SEED];
  float u = (ca * x + sa * y) / s, v = (-sa * x + ca * y) / s;
  switch ((int)g[G_KIND]) {
    case 0: return a * (1.f + am * 0.12f * fbm(u * 4.f, v * 4.f, seed));
    case 1: { // ruled or squared paper
      float gu = fabsf(u - rintf(u)), gv = fabsf(v - rintf(v));
      float line = fminf(gv, b.x > b.z ? gu : 1.f) * s < 0.12f + 0.1f * am ? 0.6f : 0.f;
      return mix(a, c, line) * (1.f + 0.03f * fbm(u * 3.f, v * 3.f, seed));
    }
    case 2: { // woven cloth
      float w = 0.4f * noise2(u / 9.f, v / 9.f, seed);
      float over = sinf((u + w) * 6.28f) * sinf((v - w) * 6.28f);
      float f = 1.f + am * (0.3f * over + 0.4f * fbm(u / 1.7f, v / 1.7f, seed) + 0.35f * noise2(u / 25.f, v / 25.f, seed + 3));
      float stripe = smooth(0.2f, 0.4f, noise2(u / 14.f, 0.f, seed + 5)) * am;
      return mix(a, b, 0.5f * stripe) * f;
    }
    case 3: { // wood
      float bend = 3.f * noise2(u / 60.f, v / 25.f, seed) + 0.6f * noise2(u / 13.f, v / 7.f, seed + 1);
      float ring = sinf((v + 2.2f * bend) * 0.9f + bend), grain = noise2(u / 7.f, v * 4.5f, seed + 2);
      float pore = noise2(u / 3.f, v * 9.f, seed + 4) > 0.72f ? 0.35f : 0.f;
      return mix(a, b, clampf(0.5f + am * (0.45f * ring + 0.4f * grain), 0.f, 1.f)) * (1.f - am * pore);
    }
    case 4: { // skin-like
      float f = 1.f + am * (0.12f * fbm(u / 6.f, v / 6.f, seed) + 0.1f * noise2(u * 1.2f, v * 4.f, seed + 1));
      float line = smooth(0.06f, 0.f, fabsf(fbm(u / 9.f, v / 3.f, seed + 4))) * 0.25f * am;
      return mix(a, b, 0.5f + 0.5f * fbm(u / 15.f, v / 15.f, seed + 7)) * (f - line);
    }
    case 5: { // clutter: patches of any colour, some shaded as if rounded
      float best = 1e9f, second = 1e9f; int bi = 0, bj = 0;
      int iu = (int)floorf(u), iv = (int)floorf(v);
      for (int j = -1; j <= 1; j++) for (int i = -1; i <= 1; i++) {
        float px = iu + i + hash3(iu + i, iv + j, seed), py = iv + j + hash3(iu + i, iv + j, seed + 9);
        float e = (px - u) * (px - u) + (py - v) * (py - v);
        if (e < best) { second = best; best = e; bi = iu + i; bj = iv + j; } else if (e < second) second = e;
      }
      float h = hash3(bi, bj, seed + 2), k = hash3(bi, bj, seed + 3), l = 0.25f + 1.1f * hash3(bi, bj, seed + 4);
      V col = mix(mix(a, b, h), c, k * 0.8f) * l;
      float rim = sqrtf(second) - sqrtf(best);
      return col * (1.f - am * 0.7f * smooth(0.25f, 0.f, rim)) * (1.f + 0.2f * am * fbm(u * 6.f, v * 6.f, seed));
    }
    case 6: return a * (1.f + am * (0.4f * fbm(u, v, seed) + (hash3((int)floorf(u * 9.f), (int)floorf(v * 9.f), seed) > 0.985f ? 1.2f : 0.f)));
    case 8: { // printed text and pictures
      float row = v - floorf(v);
      bool ink = row > 0.25f && row < 0.75f && hash3((int)floorf(u * 5.f), (int)floorf(v), seed) > 0.3f &&
                 hash3((int)floorf(u * 24.f), (int)floorf(v * 12.f), seed + 1) > 0.45f;
      float pic = smooth(0.25f, 0.3f, noise2(u / 9.f, v / 7.f, seed + 2));
      V col = ink ? mix(a, c, 0.85f) : a;
      return mix(col, mix(b, c, 0.5f + 0.5f * fbm(u, v, seed + 3)), pic * am);
    }
    case 9: { // metal sheet, brushed
      float f = 1.f + am * (0.25f * noise2(u / 12.f, v * 7.f, seed) + 0.18f * noise2(u / 30.f, v * 2.f, seed + 1) + 0.2f * fbm(u / 20.f, v / 20.f, seed + 2));
      return a * f;
    }
    case 10: { // cutting mat: fine and bold grid
      float gu = fabsf(u - rintf(u)), gv = fabsf(v - rintf(v)), u5 = u / 5.f, v5 = v / 5.f;
      float bold = fminf(fabsf(u5 - rintf(u5)), fabsf(v5 - rintf(v5))) * 5.f;
      float line = (fminf(gu, gv) * s < 0.15f ? 0.4f : 0.f) + (bold * s < 0.25f ? 0.5f : 0.f);
      return mix(a, c, clampf(line, 0.f, 0.9f)) * (1.f + 0.1f * fbm(u, v, seed));
    }
    case 11: { // stone or speckle
      float f = fbm(u, v, seed), vein = smooth(0.05f, 0.f, fabsf(fbm(u / 4.f, v / 4.f, seed + 3)));
      V col = mix(a, b, clampf(0.5f + am * f, 0.f, 1.f));
      col = mix(col, c, 0.6f * vein * am);
      float sp = hash3((int)floorf(u * 7.f), (int)floorf(v * 7.f), seed + 5);
      return col * (1.f + am * (sp > 0.9f ? 0.5f : (sp < 0.1f ? -0.5f : 0.f)));
    }
    case 13: { // cork, chipboard, foam
      float e = fbm(u * 1.5f, v * 1.5f, seed), k = noise2(u * 5.f, v * 5.f, seed + 1);
      return mix(a, b, smooth(-0.2f, 0.25f, e)) * (1.f - am * (k > 0.55f ? 0.5f : 0.f));
    }
    case 14: return pattern(a, b, c, u, v, seed, am);
    default: return a; // 7: light table
  }
}

// Coverage of the interval [lo, hi] by a pixel of half width h centred on x.
FN float cover(float x, float lo, float hi, float h) {
  return clampf((fminf(hi, x + h) - fmaxf(lo, x - h)) / (2.f * h), 0.f, 1.f);
}

// Reflectance of the printed sheet; false beside it. markers: x, y, 64 bits as 0/1; boxes: x0 y0 x1 y1 grey.
FN bool matColour(const float *m, const float *mats, float xw, float yw, float pixelMm, V &out, float &ink) {
  int paper = (int)m[M_PAPER];
  if (paper < 0) return false;
  float c = cosf(m[M_TURN]), s = sinf(m[M_TURN]), dx = xw - m[M_X], dy = yw - m[M_Y];
  float x = c * dx + s * dy, y = -s * dx + c * dy;
  const float *t = mats + paper * (8 + MARKERS_MAX * 66 + BOXES_MAX * 5);
  float hx = t[0] / 2.f, hy = t[1] / 2.f, size = t[2];
  if (fabsf(x) > hx || fabsf(y) > hy) return false;
  x /= m[M_SX]; y /= m[M_SY];
  out = at3(m + M_RGB) * (1.f + 0.012f * noise2(x * 1.3f, y * 1.3f, 77));
  float dark = m[M_INK];
  ink = 0.f;
  int n = (int)t[3], boxes = (int)t[4];
  const float *mk = t + 8;
  float h = 0.25f * pixelMm; // a quarter: four rays a pixel do the rest
  for (int i = 0; i < n; i++, mk += 66) {
    float u = (x - mk[0]) / size + 0.5f, v = 0.5f - (y - mk[1]) / size;
    if (u < 0.f || v < 0.f || u >= 1.f || v >= 1.f) continue;
    if (mk[2 + (int)(v * 8.f) * 8 + (int)(u * 8.f)] > 0.5f) { ink = 1.f; out = v3(dark, dark, dark * 1.05f); }
  }
  const float *b = t + 8 + MARKERS_MAX * 66;
  for (int i = 0; i < boxes; i++, b += 5) {
    float k = cover(x, b[0], b[2], h) * cover(y, b[1], b[3], h);
    if (k > 0.f) { float q = b[4] * b[4]; out = mix(out, v3(fmaxf(q, dark), fmaxf(q, dark), fmaxf(q, dark)), k); }
  }
  // rows of small type: along the top and beside the bars, as blots (unreadable at this size)
  float fx = t[5], fy = t[6];
  bool top = fabsf(x) < fx * 0.9f && y > fy + 1.5f && y < fy + 7.5f;
  bool side = fabsf(y) < fy * 0.5f && fabsf(x) > fx + 1.5f && fabsf(x) < fx + 7.f;
  if (top || side) {
    float along = top ? x : y, over = top ? y - fy : fabsf(x) - fx;
    float row = over / 3.f;
    if (row - floorf(row) > 0.4f && hash3((int)floorf(along / 1.5f), (int)floorf(row), 3) > 0.2f &&
        hash3((int)floorf(along / 0.4f), (int)floorf(over / 0.5f), 5) > 0.5f) out = mix(out, v3(dark, dark, dark), 0.8f);
  }
  return true;
}

// ---- light ----
FN V environment(const float *s, V r, float rough, V below) {
  if (r.z < 0.f) return below;
  V e = mix(at3(s + S_ENVLOW), at3(s + S_ENVHIGH), clampf(r.z, 0.f, 1.f));
  for (int i = 0; i < 6; i++) {
    const float *b = s + S_BLOB + 5 * i;
    float w2 = b[2] * b[2], wide = w2 + rough * rough;
    float dx = r.x - b[0], dy = r.y - b[1];
    float k = b[3] * (w2 / wide) * expf(-(dx * dx + dy * dy) / (2.f * wide));
    e = e + v3(k * (1.f + b[4]), k, k * (1.f - b[4]));
  }
  return v3(fmaxf(e.x, 0.01f), fmaxf(e.y, 0.01f), fmaxf(e.z, 0.01f));
}

FN V awry(V n, float a, float b, float amount) {
  V h = fabsf(n.z) < 0.9f ? v3(0, 0, 1) : v3(1, 0, 0);
  V u = unit(cross(h, n)), v = cross(n, u);
  float phi = 6.2831853f * a, q = amount * sqrtf(b);
  return u * (q * cosf(phi)) + v * (q * sinf(phi));
}

struct Light { V diffuse; float shadow[3]; float open; };

// Light that reaches a point: lamps with soft edges, and how much of the surroundings is open.
FN void gather(const float *s, const float *parts, int count, const float *tab, V p, V n, int skip, int id, int sub, Light &out) {
  int lamps = (int)s[S_LIGHTS];
  out.diffuse = v3(0, 0, 0);
  const int each = 5;
  for (int l = 0; l < 3; l++) out.shadow[l] = 1.f;
  for (int l = 0; l < lamps; l++) {
    const float *q = s + S_LIGHT + 7 * l;
    V at = at3(q);
    V to = at - p;
    float d2 = dot(to, to), d = sqrtf(d2), nl = dot(n, to) / d;
    if (nl <= 0.f) { out.shadow[l] = 0.f; continue; }
    V dir = to * (1.f / d);
    float open = 0.f;
    for (int k = 0; k < each; k++) {
      float a = hash3(id, sub * each + k, 11 + l), b = (k + hash3(id, sub * each + k, 31 + l)) / each;
      V aim = at + awry(dir, a, b, q[3]) - p;
      if (!blocked(parts, count, tab, p, unit(aim), 1e4f, skip)) open += 1.f / each;
    }
    out.shadow[l] = open;
    float h2 = dot(at, at);
    out.diffuse = out.diffuse + at3(q + 4) * (nl * open * h2 / d2);
  }
  float free = 0.f;
  const int around = 6;
  for (int k = 0; k < around; k++) {
    float a = (k + hash3(id, sub * around + k, 51)) / around, b = hash3(id, sub * around + k, 71);
    V dir = unit(n * sqrtf(1.f - 0.9f * b) + awry(n, a, 0.9f * b, 1.f));
    if (!blocked(parts, count, tab, p, dir, 40.f, skip)) free += 1.f / around;
  }
  out.open = free;
  out.diffuse = out.diffuse + at3(s + S_AMBIENT) * free;
}

FN V shadeMetal(const float *s, const float *p, const Hit &h, V point, V n, V view, const Light &light, V below, float pixelMm) {
  int finish = (int)p[P_FINISH], seed = (int)p[P_SEED];
  float x = h.local.x, y = h.local.y, r = sqrtf(x * x + y * y);
  V colour = at3(p + P_COLOUR);
  float rough = p[P_ROUGH], kd = p[P_KD];
  // Patina, rust, worn gilding: in patches.
  float ms = p[P_MSCALE];
  float blot = fbm(x / ms + 7.f, y / ms + 0.37f * h.local.z, seed) + 0.35f * noise2(4.f * x / ms, 4.f * y / ms, seed + 5);
  float m = clampf(p[P_MOTTLE] * (0.5f + 1.6f * blot), 0.f, 1.f);
  colour = mix(colour, at3(p + P_MCOLOUR), m);
  rough += 0.25f * m; kd += 0.35f * m;
  float dim = 1.f;
  bool metal = finish <= POLISHED;
  V across = v3(0, 0, 0);
  if (h.kind == 1 && metal) {
    if (finish == TURNED || finish == BRUSHED) {
      bool turned = finish == TURNED;
      V g = turned ? v3(-y / (r + 1e-5f), x / (r + 1e-5f), 0) : v3(1, 0, 0);
      across = toWorld(p, v3(g.y, -g.x, 0));
      float c = turned ? r : y;
      float fine = fminf(1.f, 0.25f / pixelMm);
      float groove = fine * noise2(c * 9.f, 0.5f, seed + 1) + 0.6f * noise2(c * 2.6f, 0.5f, seed + 2);
      n = unit(n + across * (p[P_GROOVE] * groove));
      dim *= 1.f + p[P_GROOVE] * 0.8f * groove;
    } else {
      n = unit(n + toWorld(p, v3(noise2(x * 1.1f, y * 1.1f, seed + 3), noise2(x * 1.1f, y * 1.1f, seed + 4), 0)) * (0.25f * p[P_GROOVE]));
    }
    if (p[P_SCRATCH] > 0.f) {
      for (int k = 0; k < 4; k++) {
        float a = 6.28f * hash3(seed, k, 5), ca = cosf(a), sa = sinf(a);
        float q = noise2((ca * x + sa * y) * 0.15f, (-sa * x + ca * y) * 3.2f, seed + 20 + k);
        if (q > 1.05f - 0.5f * p[P_SCRATCH]) dim *= hash3(seed, k, 6) > 0.5f ? 1.35f : 0.65f;
      }
    }
    if (p[P_ENGRAVE] > 0.f) {
      float ex = x * cosf(p[P_SEED]) + y * sinf(p[P_SEED]), ey = -x * sinf(p[P_SEED]) + y * cosf(p[P_SEED]);
      float row = ey / 2.6f;
      if (fabsf(ey) < p[P_ENGRAVE] * 0.6f * p[P_R] && row - floorf(row) > 0.3f && hash3((int)floorf(ex / 1.3f), (int)floorf(row), seed) > 0.35f &&
          hash3((int)floorf(ex / 0.33f), (int)floorf(ey / 0.36f), seed + 1) > 0.5f) dim *= 0.45f;
    }
  }
  if (p[P_THREAD] > 0.f) { // screw threads, coil springs: bright and dark turns
    float q = h.local.x / p[P_THREAD];
    dim *= 0.75f + 0.35f * sinf(6.28f * (q + 0.2f * h.local.y / p[P_THREAD]));
  }
  V refl = n * (2.f * dot(n, view)) - view;
  V env;
  if (across.x != 0.f || across.y != 0.f) {
    env = v3(0, 0, 0);
    for (int k = -1; k <= 1; k++) {
      V nn = unit(n + across * (0.22f * k));
      env = env + environment(s, nn * (2.f * dot(nn, view)) - view, rough, below) * (1.f / 3.f);
    }
  } else env = environment(s, refl, rough, below);
  float openSpec = 0.35f + 0.65f * light.open;
  V glow = v3(0, 0, 0);
  int lamps = (int)s[S_LIGHTS];
  for (int l = 0; l < lamps; l++) {
    const float *q = s + S_LIGHT + 7 * l;
    V to = unit(at3(q) - point);
    float size = q[3] / sqrtf(dot(at3(q), at3(q)));
    float lobe;
    if (across.x != 0.f || across.y != 0.f) {
      V half = unit(to + view);
      V along = cross(n, across);
      float k = dot(along, half), e = dot(across, half), w = 0.004f + 0.5f * rough * rough + 0.25f * size * size;
      lobe = 0.9f * expf(-k * k / w) * expf(-e * e / 0.35f) / (0.25f + 6.f * w);
    } else {
      float w = 0.0015f + rough * rough + 0.25f * size * size;
      lobe = expf(-(1.f - dot(refl, to)) / w) * 0.05f / w;
    }
    if (dot(n, to) > 0.f) glow = glow + at3(q + 4) * (lobe * light.shadow[l]);
  }
  if (finish >= PAINT) {
    float gloss = finish == PAINT ? 0.06f : (finish == SKIN ? 0.03f : 0.01f);
    float tone = finish == SKIN ? 1.f + 0.12f * fbm(x * 0.8f, y * 0.8f + h.local.z, seed) : 1.f;
    if (finish == PAINT && p[P_SCRATCH] > 0.f)
      colour = pattern(colour, at3(p + P_MCOLOUR), colour * 0.4f, x / ms, (y + h.local.z) / ms, seed, p[P_SCRATCH]);
    return colour * light.diffuse * tone + (env + glow * 2.f) * (gloss * openSpec);
  }
  V spec = (env * openSpec + glow) * (1.f - kd) + light.diffuse * kd;
  float edge = 1.f - clampf(dot(n, view), 0.f, 1.f);
  float f = edge * edge * edge * edge * edge * 0.5f;
  V c = mix(colour, v3(1, 1, 1), f);
  return c * spec * dim + glow * 0.05f;
}

FN V shade(const float *s, const float *parts, int count, const float *tab, const float *mats, V eye, V d, int id, int sub, float pixelMm) {
  Hit h;
  float tg = -eye.z / d.z;
  V view = unit(d) * -1.f;
  Light light;
  const float *g = s + S_GROUND, *m = s + S_MAT;
  if (!trace(parts, count, tab, eye, d, tg, h)) {
    V p = eye + d * tg;
    V albedo; float ink = 0.f;
    const float *used = g;
    if (!matColour(m, mats, p.x, p.y, pixelMm, albedo, ink)) albedo = groundColour(used, p.x, p.y, pixelMm);
    if ((int)g[G_KIND] == 7 && m[M_PAPER] < 0.f) return albedo * (1.f + g[G_AMOUNT] * 0.1f * noise2(p.x / 90.f, p.y / 90.f, (int)g[G_SEED]));
    gather(s, parts, count, tab, p + v3(0, 0, 0.01f), v3(0, 0, 1), -1, id, sub, light);
    V c = albedo * light.diffuse;
    float gloss = (m[M_PAPER] >= 0.f && ink > 0.f) ? 0.02f : g[G_GLOSS];
    if (gloss > 0.f) {
      V refl = v3(-view.x, -view.y, view.z);
      float rough = (int)g[G_KIND] == 9 ? 0.25f : 0.12f;
      c = c + environment(s, refl, rough, albedo) * (gloss * (0.3f + 0.7f * light.open));
      for (int l = 0; l < (int)s[S_LIGHTS]; l++) {
        V to = unit(at3(s + S_LIGHT + 7 * l) - p);
        c = c + at3(s + S_LIGHT + 7 * l + 4) * (gloss * 3.f * light.shadow[l] * expf(-(1.f - dot(refl, to)) / (rough * rough)));
      }
    }
    return c;
  }
  const float *p = parts + h.part * PART_F;
  V point = eye + d * h.t;
  h.local = toLocal(p, point - at3(p + P_ORIGIN));
  V dl = toLocal(p, d);
  V nl;
  if (h.kind == 4) {
    float e = 0.02f;
    V q = h.local;
    float c0 = distanceTo(p, q);
    nl = unit(v3(distanceTo(p, q + v3(e, 0, 0)) - c0, distanceTo(p, q + v3(0, e, 0)) - c0, distanceTo(p, q + v3(0, 0, e)) - c0));
  } else if (h.kind == 1) {
    float up = dl.z < 0.f ? 1.f : -1.f;
    nl = v3(0, 0, up);
    float bevel = p[P_BEVEL];
    if (bevel > 0.f) {
      V e = regionNormal(p, tab, h.local.x, h.local.y, bevel);
      if (e.x * e.x + e.y * e.y > 0.25f) { nl = unit(unit(e) + nl * 1.0f); h.kind = 2; }
    }
  } else {
    V e = regionNormal(p, tab, h.local.x, h.local.y, 0.06f);
    nl = unit(v3(e.x - 1e-4f * dl.x, e.y - 1e-4f * dl.y, 0.f));
    if (nl.x * nl.x + nl.y * nl.y < 0.5f) nl = unit(v3(-dl.x, -dl.y, 0.f));
  }
  if (dot(nl, dl) > 0.f) nl = nl - unit(dl) * (1.1f * dot(nl, unit(dl)));
  V n = unit(toWorld(p, nl));
  V from = point + n * 0.06f;
  gather(s, parts, count, tab, from, n, -1, id, sub, light);
  V ground = m[M_PAPER] >= 0.f ? at3(m + M_RGB) : at3(g + G_A);
  V below = ground * (at3(s + S_AMBIENT) * 0.7f);
  if (s[S_LIGHTS] > 0.f) below = below + ground * (at3(s + S_LIGHT + 4) * 0.35f);
  if ((int)g[G_KIND] == 7 && m[M_PAPER] < 0.f) below = at3(g + G_A);
  if ((int)p[P_FINISH] == CARD && h.kind != 3) { // a tag: white card with a marker
    float size = p[P_TIP];
    float u = h.local.x / size + 0.5f, v = 0.5f - h.local.y / size;
    V c = at3(p + P_COLOUR);
    if (u > 0.f && v > 0.f && u < 1.f && v < 1.f) {
      int a = (int)(v * 8.f), b = (int)(u * 8.f);
      if (a == 0 || b == 0 || a == 7 || b == 7 || hash3(a, b, (int)p[P_SEED]) > 0.5f) c = v3(0.04f, 0.04f, 0.04f);
    }
    return c * light.diffuse;
  }
  return shadeMetal(s, p, h, point, n, view, light, below, pixelMm);
}

FN int classOf(const float *s, const float *parts, int count, const float *tab, V eye, V d) {
  Hit h;
  float tg = -eye.z / d.z;
  if (trace(parts, count, tab, eye, d, tg, h)) return (int)parts[h.part * PART_F + P_CLASS];
  for (int i = 0; i < count; i++) {
    const float *p = parts + i * PART_F;
    if (p[P_HOLE] == 0.f) continue;
    V o = toLocal(p, eye - at3(p + P_ORIGIN)), l = toLocal(p, d);
    if (fabsf(l.z) < 1e-6f) continue;
    float t = (p[P_Z1] - o.z) / l.z;
    float x = o.x + t * l.x, y = o.y + t * l.y, r = p[P_HOLE];
    float c = p[P_FILLET], qx = fmaxf(0.f, fabsf(x) - p[P_HALFX] + c), qy = fmaxf(0.f, fabsf(y) - p[P_HALFY] + c);
    if (t > 0.f && (r > 0.f ? x * x + y * y < r * r : qx * qx + qy * qy < c * c)) return 3; // r < 0: a plate
  }
  return 0;
}

FN uint8_t classAt(const float *s, const float *parts, const float *tab, int u, int v, int size) {
  V d = at3(s + S_AHEAD) + at3(s + S_RIGHT) * (u - 0.5f * (size - 1)) + at3(s + S_DOWN) * (v - 0.5f * (size - 1));
  return (uint8_t)classOf(s, parts, (int)s[S_PARTS], tab, at3(s + S_EYE), d);
}

FN void pixel(const float *s, const float *parts, const float *tab, const float *mats, int u, int v, int size, float *rgb, uint8_t *mask) {
  int count = (int)s[S_PARTS], id = v * size + u + (int)s[S_SEED] * 7919;
  V eye = at3(s + S_EYE), right = at3(s + S_RIGHT), down = at3(s + S_DOWN), ahead = at3(s + S_AHEAD);
  float cu = u - 0.5f * (size - 1), cv = v - 0.5f * (size - 1);
  V d = ahead + right * cu + down * cv;
  float pixelMm = sqrtf(dot(right, right)) * eye.z;
  mask[v * size + u] = classAt(s, parts, tab, u, v, size);
  V sum = v3(0, 0, 0);
  for (int k = 0; k < 4; k++) {
    // rotated grid
    float du = (k == 0 ? -0.375f : k == 1 ? 0.125f : k == 2 ? -0.125f : 0.375f);
    float dv = (k == 0 ? -0.125f : k == 1 ? -0.375f : k == 2 ? 0.375f : 0.125f);
    V c = shade(s, parts, count, tab, mats, eye, d + right * du + down * dv, id, k, pixelMm);
    sum = sum + v3(fminf(c.x, 6.f), fminf(c.y, 6.f), fminf(c.z, 6.f)) * 0.25f;
  }
  int n = size * size, i = v * size + u;
  rgb[i] = fmaxf(0.f, sum.x); rgb[n + i] = fmaxf(0.f, sum.y); rgb[2 * n + i] = fmaxf(0.f, sum.z);
}

#ifdef __CUDACC__
__global__ void renderKernel(const float *scenes, const float *parts, const float *tables, const float *mats, int size, float *rgb, uint8_t *mask) {
  int u = blockIdx.x * 8 + threadIdx.x, v = blockIdx.y * 8 + threadIdx.y, b = blockIdx.z;
  if (u >= size || v >= size) return;
  pixel(scenes + b * SCENE_F, parts + b * MAX_PARTS * PART_F, tables + b * TABLE_F, mats, u, v, size,
        rgb + (size_t)b * 3 * size * size, mask + (size_t)b * size * size);
}
__global__ void classKernel(const float *scenes, const float *parts, const float *tables, int size, uint8_t *mask) {
  int u = blockIdx.x * 8 + threadIdx.x, v = blockIdx.y * 8 + threadIdx.y, b = blockIdx.z;
  if (u >= size || v >= size) return;
  mask[(size_t)b * size * size + v * size + u] = classAt(scenes + b * SCENE_F, parts + b * MAX_PARTS * PART_F, tables + b * TABLE_F, u, v, size);
}
// The class map alone, for maps finer than the picture (whose rows and columns the scene's camera then holds).
extern "C" int renderClasses(const float *scenes, const float *parts, const float *tables, int count, int size, uint8_t *mask) {
  dim3 threads(8, 8), blocks((size + 7) / 8, (size + 7) / 8, count);
  classKernel<<<blocks, threads>>>(scenes, parts, tables, size, mask);
  cudaError_t e = cudaGetLastError();
  if (e == cudaSuccess) e = cudaDeviceSynchronize();
  return (int)e;
}
extern "C" int renderScenes(const float *scenes, const float *parts, const float *tables, const float *mats, int count, int size, float *rgb, uint8_t *mask) {
  dim3 threads(8, 8), blocks((size + 7) / 8, (size + 7) / 8, count);
  renderKernel<<<blocks, threads>>>(scenes, parts, tables, mats, size, rgb, mask);
  cudaError_t e = cudaGetLastError();
  if (e == cudaSuccess) e = cudaDeviceSynchronize();
  return (int)e;
}
#else
extern "C" int renderClasses(const float *scenes, const float *parts, const float *tables, int count, int size, uint8_t *mask) {
  for (int b = 0; b < count; b++)
    for (int v = 0; v < size; v++)
      for (int u = 0; u < size; u++)
        mask[(size_t)b * size * size + v * size + u] = classAt(scenes + b * SCENE_F, parts + b * MAX_PARTS * PART_F, tables + b * TABLE_F, u, v, size);
  return 0;
}
extern "C" int renderScenes(const float *scenes, const float *parts, const float *tables, const float *mats, int count, int size, float *rgb, uint8_t *mask) {
  for (int b = 0; b < count; b++)
    for (int v = 0; v < size; v++)
      for (int u = 0; u < size; u++)
        pixel(scenes + b * SCENE_F, parts + b * MAX_PARTS * PART_F, tables + b * TABLE_F, mats, u, v, size,
              rgb + (size_t)b * 3 * size * size, mask + (size_t)b * size * size);
  return 0;
}
#endif
