// Mixing: coverages to XYZ by the contracted table of viewer/pair_lattice.h. Mirrors sim/print/overprint_table.cpp and
// nothing else of the physics.
uniform sampler2D u_values;       // values of the lattice, 4096 a row
uniform sampler2D u_levels;       // a row a field: 1024 numbers of the level below, then the levels
uniform usampler2D u_masks;       // dots of a screen out of register: a row a tone, 32 words a film
uniform ivec4 u_level_counts;

const int kMaskWords = 32, kMaskTones = 1024;
#if FILMS > 0
const int kOverprints = 1 << FILMS;
#else
const int kOverprints = 1;
#endif
const int kCorners = 1 << FIELDS;

vec3 value(int i) { return texelFetch(u_values, ivec2(i & 4095, i >> 12), 0).rgb; }

uint bits(uint v) {
  v = v - ((v >> 1) & 0x55555555u);
  v = (v & 0x33333333u) + ((v >> 2) & 0x33333333u);
  return (((v + (v >> 4)) & 0x0F0F0F0Fu) * 0x01010101u) >> 24;
}

// Corners of the lattice cell that a tuple of doses lies in.
struct Cell {
  int node[1 << FIELDS];
  float at[1 << FIELDS];
  float t[FIELDS > 0 ? FIELDS : 1];
};

#if FIELDS > 0
Cell cell_of(float doses[FIELDS]) {
  Cell o;
  int lower[FIELDS];
  for (int f = 0; f < FIELDS; ++f) {
    float dose = clamp(doses[f], 0.0, 1.0);
    int low = int(texelFetch(u_levels, ivec2(min(int(dose * 1024.0), 1023), f), 0).r + 0.5);
    low = min(low, u_level_counts[f] - 2);
    if (low + 2 < u_level_counts[f] && dose >= texelFetch(u_levels, ivec2(1024 + low + 1, f), 0).r) ++low;
    float a = texelFetch(u_levels, ivec2(1024 + low, f), 0).r, b = texelFetch(u_levels, ivec2(1024 + low + 1, f), 0).r;
    lower[f] = low;
    o.t[f] = clamp((dose - a) / (b - a), 0.0, 1.0);
  }
  for (int c = 0; c < kCorners; ++c) {
    int node = 0, stride = 1;
    float at = 1.0;
    for (int f = 0; f < FIELDS; ++f) {
      bool up = (c >> f & 1) != 0;
      node += stride * (lower[f] + (up ? 1 : 0));
      stride *= u_level_counts[f];
      at *= up ? o.t[f] : 1.0 - o.t[f];
    }
    o.node[c] = node;
    o.at[c] = at;
  }
  return o;
}
#endif

vec3 pair_value(Cell cell, int pair) {
#if FIELDS == 0
  return value(pair);
#else
  vec3 sum = vec3(0.0);
  for (int c = 0; c < kCorners; ++c) {
    if (cell.at[c] <= 0.0) continue;
    int i = (cell.node[c] * PAIRS + pair) * (1 + FIELDS);
    vec3 v = value(i);
    for (int f = 0; f < FIELDS; ++f) {
      if ((c >> f & 1) == 0 && cell.t[f] > 0.0) v += 2.0 * cell.t[f] * value(i + 1 + f);
    }
    sum += cell.at[c] * v;
  }
  return sum;
#endif
}

int pair_of(int a, int b) {
  int q = max(a, b);
  return q * (q + 1) / 2 + min(a, b);
}

// XYZ where there is no ink.
vec3 bare() {
  Cell cell;
#if FIELDS > 0
  float doses[FIELDS];
  for (int f = 0; f < FIELDS; ++f) doses[f] = 0.0;
  cell = cell_of(doses);
#endif
  return pair_value(cell, pair_of(0, 0));
}

#if RANK > 0
// Films alone: the pair values in the shorter form of viewer/pair_basis.h.
uniform sampler2D u_states;  // RANK / 4 texels an overprint
layout(std140) uniform Form { vec4 form[RANK * (RANK + 1) / 2]; };

void add_overprint(int overprint, float w, inout vec4 y[RANK / 4]) {
  for (int k = 0; k < RANK / 4; ++k) y[k] += w * texelFetch(u_states, ivec2(overprint * (RANK / 4) + k, 0), 0);
}

vec3 formed(vec4 y[RANK / 4]) {
  vec3 sum = vec3(0.0);
  for (int b = 0; b < RANK; ++b) {
    vec3 row = vec3(0.0);
    for (int a = 0; a <= b; ++a) row += y[a / 4][a % 4] * form[b * (b + 1) / 2 + a].rgb;
    sum += y[b / 4][b % 4] * row;
  }
  return sum;
}
#endif

#if FILMS > 0 && (RANK == 0 || GROUPED)
// Shares of the overprints of `count` films of one screen: act[first ..], tones a. Bit j of the index: act[first + j].
void joint_shares(int act[FILMS], float a[FILMS], int first, int count, bool apart, out float w[1 << FILMS]) {
  int states = 1 << count;
  for (int s = 0; s < states; ++s) w[s] = 0.0;
  if (!apart) {
    // In register dots sit on dots: the smaller lies within the larger.
    for (int s = 0; s < states; ++s) {
      float inside = 1.0, outside = 0.0;
      for (int j = 0; j < count; ++j) {
        if ((s >> j & 1) != 0) inside = min(inside, a[first + j]);
        else outside = max(outside, a[first + j]);
      }
      w[s] = max(0.0, inside - outside);
    }
    return;
  }
  int level[FILMS];
  for (int j = 0; j < count; ++j) level[j] = int(a[first + j] * float(kMaskTones));
  for (int word = 0; word < kMaskWords; ++word) {
    uint ink[FILMS];
    for (int j = 0; j < count; ++j)
      ink[j] = texelFetch(u_masks, ivec2(act[first + j] * kMaskWords + word, level[j]), 0).r;
    for (int s = 0; s < states; ++s) {
      uint m = 0xFFFFFFFFu;
      for (int j = 0; j < count; ++j) m &= (s >> j & 1) != 0 ? ink[j] : ~ink[j];
      w[s] += float(bits(m)) / float(kMaskTones);
    }
  }
  // Each film covers exactly its tone: what the raster left out is added where it was not.
  for (int j = 0; j < count; ++j) {
    float whole = float(level[j]) / float(kMaskTones), more = (a[first + j] - whole) / max(1.0 - whole, 1.0e-6);
    for (int s = 0; s < states; ++s) {
      if ((s >> j & 1) != 0) continue;
      float moved = w[s] * more;
      w[s] -= moved;
      w[s | 1 << j] += moved;
    }
  }
}
#endif

#if RANK > 0 && !GROUPED
// XYZ where plate i covers cover[i]: films alone, each with a screen of its own.
vec3 mixed(float cover[PLATES]) {
  int base = 0, tints = 0, count = 0;
  ivec2 first = ivec2(0);  // the first two films between none and solid, and what they cover
  vec2 share = vec2(0.0);
  for (int i = 0; i < PLATES; ++i) {
    if (cover[i] >= 1.0) {
      base |= 1 << i;
    } else if (cover[i] > 0.0) {
      tints |= 1 << i;
      if (count == 0) first.x = 1 << i, share.x = cover[i];
      if (count == 1) first.y = 1 << i, share.y = cover[i];
      ++count;
    }
  }
  if (count == 0) return value(pair_of(base, base));
  if (count <= 2) {
    int a = base | first.x, b = base | first.y, both = a | b;
    vec2 none = 1.0 - share;
    float w0 = none.x * none.y, w1 = share.x * none.y;
    vec3 sum = w0 * w0 * value(pair_of(base, base)) + 2.0 * w0 * w1 * value(pair_of(base, a)) +
               w1 * w1 * value(pair_of(a, a));
    if (count == 1) return sum;
    float w2 = none.x * share.y, w3 = share.x * share.y;
    sum += w2 * (2.0 * (w0 * value(pair_of(base, b)) + w1 * value(pair_of(a, b))) + w2 * value(pair_of(b, b)));
    return sum + w3 * (2.0 * (w0 * value(pair_of(base, both)) + w1 * value(pair_of(a, both)) +
                              w2 * value(pair_of(b, both))) +
                       w3 * value(pair_of(both, both)));
  }
  vec4 y[RANK / 4];
  for (int k = 0; k < RANK / 4; ++k) y[k] = vec4(0.0);
  // Every subset of the films between none and solid.
  for (int s = tints;; s = (s - 1) & tints) {
    float w = 1.0;
    for (int i = 0; i < PLATES; ++i) {
      if ((tints >> i & 1) != 0) w *= (s >> i & 1) != 0 ? cover[i] : 1.0 - cover[i];
    }
    add_overprint(base | s, w, y);
    if (s == 0) break;
  }
  return formed(y);
}
#else
// XYZ where plate i covers cover[i].
vec3 mixed(float cover[PLATES]) {
  Cell cell;
#if FIELDS > 0
  float doses[FIELDS];
  for (int i = 0; i < PLATES; ++i) {
    if (plates[i].what.x == 1) doses[plates[i].what.y] = cover[i];
  }
  cell = cell_of(doses);
#endif
#if FILMS == 0
  return pair_value(cell, 0);
#else
  int base = 0, count = 0;
  int act[FILMS];
  float a[FILMS];
  int group[FILMS];
  bool apart[FILMS];
  // Films between none and solid, those of one screen side by side.
  for (int i = 0; i < PLATES; ++i) {
    if (plates[i].what.x == 1) continue;
    float c = cover[i];
    int film = plates[i].what.y;
    if (c >= 1.0) {
      base |= 1 << film;
    } else if (c > 0.0) {
      int at = count;
      int g = plates[i].what.w;
      if (g >= 0) {
        for (int j = 0; j < count; ++j) {
          if (group[j] == g) at = j + 1;
        }
      }
      for (int j = count; j > at; --j) {
        act[j] = act[j - 1];
        a[j] = a[j - 1];
        group[j] = group[j - 1];
        apart[j] = apart[j - 1];
      }
      act[at] = film;
      a[at] = c;
      group[at] = g;
      apart[at] = plates[i].seed.z != 0u;
      ++count;
    }
  }
  if (count == 0) return pair_value(cell, pair_of(base, base));
  float w[1 << FILMS];
  w[0] = 1.0;
  int filled = 0;
  while (filled < count) {
    int together = 1;
    while (filled + together < count && group[filled] >= 0 && group[filled + together] == group[filled]) ++together;
    int before = 1 << filled;
    if (together == 1) {
      for (int s = 0; s < before; ++s) {
        w[before + s] = w[s] * a[filled];
        w[s] *= 1.0 - a[filled];
      }
    } else {
      float joint[1 << FILMS];
      joint_shares(act, a, filled, together, apart[filled], joint);
      for (int state = (1 << together) - 1; state >= 0; --state) {
        for (int s = 0; s < before; ++s) w[state * before + s] = w[s] * joint[state];
      }
    }
    filled += together;
  }
  int states = 1 << count;
  int key[1 << FILMS];
  for (int s = 0; s < states; ++s) {
    int k = base;
    for (int j = 0; j < count; ++j) {
      if ((s >> j & 1) != 0) k |= 1 << act[j];
    }
    key[s] = k;
  }
#if RANK > 0
  vec4 y[RANK / 4];
  for (int k = 0; k < RANK / 4; ++k) y[k] = vec4(0.0);
  for (int s = 0; s < states; ++s) {
    if (w[s] > 0.0) add_overprint(key[s], w[s], y);
  }
  return formed(y);
#else
  vec3 sum = vec3(0.0);
  for (int q = 0; q < states; ++q) {
    if (w[q] <= 0.0) continue;
    vec3 row = 0.5 * w[q] * pair_value(cell, pair_of(key[q], key[q]));
    for (int p = 0; p < q; ++p) {
      if (w[p] > 0.0) row += w[p] * pair_value(cell, pair_of(key[p], key[q]));
    }
    sum += 2.0 * w[q] * row;
  }
  return sum;
#endif
#endif
}
#endif
