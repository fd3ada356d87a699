// Where a plate's ink lies: the codes of viewer/plate_codes.h, moved by the register. Mirrors sim/print/cover.cpp
// and sim/print/loupe_plate.cpp. PLATES, FILMS, FIELDS, PAIRS are defined by the program that compiles this.
struct Plate {
  vec4 map;      // print to plate, row by row, about the centre
  vec4 place;    // shift in pixels; reach and spread in pixels
  vec4 screen;   // periods a pixel: across, down
  ivec4 what;    // 0 film, 1 field; its number among films or fields; dot shape; screen group or -1
  uvec4 seed;    // of lost dots; 1 if the head is down; 1 if its group is out of register
};
layout(std140) uniform Plates { Plate plates[PLATES]; };

uniform usampler2DArray u_codes;
uniform usampler2DArray u_doses;
uniform sampler2D u_tones;  // a row a plate: printed, tone, dots held, holes held at film = i / 1020
uniform ivec2 u_size;       // of the print, pixels
uniform int u_near;         // 1: a point is the pixel that it falls on, ink or none beside a contour
uniform ivec4 u_tiles;      // of the textures: pixels across and down, how many across and down

const float kToneNodes = 1021.0;

// n, which the compiler does not know: a loop that ends there is not unrolled. Drivers take a copy of every
// function wherever it is called, and seconds over what comes of it.
uniform int u_zero;  // never set
int unknown(int n) { return n + u_zero; }

ivec3 texel(int layer_set, ivec2 p) {
  if (u_tiles.z == 1 && u_tiles.w == 1) return ivec3(p, layer_set);
  ivec2 t = p / u_tiles.xy;
  return ivec3(p - t * u_tiles.xy, (layer_set * u_tiles.w + t.y) * u_tiles.z + t.x);
}

bool on_plate(ivec2 p) { return p.x >= 0 && p.y >= 0 && p.x < u_size.x && p.y < u_size.y; }

uint code_at(int i, ivec2 p) { return on_plate(p) ? texelFetch(u_codes, texel(i, p), 0).r : 0u; }

float film_of(uint code) { return float(int(code) - 2) / 32764.0; }
bool is_tint(uint code) { return code >= 2u && code < 32768u; }
float distance_of(uint code, float reach) {
  if (code < 32768u) return code == 1u ? -reach : reach;
  return (float(int(code) - 32768) / 32767.0 * 2.0 - 1.0) * reach;
}

vec4 tone_at(int i, float film) {
  float at = clamp(film, 0.0, 1.0) * (kToneNodes - 1.0);
  return textureLod(u_tones, vec2((at + 0.5) / kToneNodes, (float(i) + 0.5) / float(PLATES)), 0.0);
}

vec2 source_of(int i, vec2 p) {
  vec2 centre = 0.5 * (vec2(u_size) - 1.0);
  vec2 d = p - centre - plates[i].place.xy;
  return centre + vec2(dot(plates[i].map.xy, d), dot(plates[i].map.zw, d));
}

// One plate at a place of the print, at arm's length.
struct Laid {
  float cover;     // share of ink, 0..1, where no contour cuts
  float distance;  // pixels to the printed contour
  bool contour;    // the distance counts: no tint takes part
};

float dose_texel(int layer, ivec2 p) {
  return on_plate(p) ? float(texelFetch(u_doses, texel(layer, p), 0).r) / 65535.0 : 0.0;
}

Laid laid_at(int i, vec2 p) {
  Laid o = Laid(0.0, 1.0e3, false);
  if (plates[i].seed.y == 0u) return o;
  vec2 s = source_of(i, p);
  vec2 near = floor(s + 0.5);
  // On the pixel itself, or near enough: no need to look at four.
  bool single = u_near != 0 || all(lessThan(abs(s - near), vec2(1.0e-4)));
  vec2 base = single ? near : floor(s);
  vec2 f = single ? vec2(0.0) : s - base;
  float reach = plates[i].place.z;
  if (plates[i].what.x == 1) {
    for (int k = 0; k < 4; ++k) {
      vec2 c = vec2(float(k & 1), float(k >> 1));
      vec2 w2 = mix(1.0 - f, f, c);
      float w = w2.x * w2.y;
      if (w > 0.0) o.cover += w * dose_texel(plates[i].what.y, ivec2(base + c));
    }
    return o;
  }
  float distance = 0.0;
  bool close = false, tinted = false;
  for (int k = 0; k < 4; ++k) {
    vec2 c = vec2(float(k & 1), float(k >> 1));
    vec2 w2 = mix(1.0 - f, f, c);
    float w = w2.x * w2.y;
    if (w <= 0.0) continue;
    uint code = code_at(i, ivec2(base + c));
    float d = distance_of(code, reach);
    bool tint = is_tint(code);
    tinted = tinted || tint;
    close = close || (!tint && abs(d) < (single ? reach : reach - 1.0));
    o.cover += w * (tint ? tone_at(i, film_of(code)).x : clamp(0.5 - d, 0.0, 1.0));
    distance += w * d;
  }
  if (close && !tinted) {
    o.contour = true;
    o.distance = distance;
    o.cover = clamp(0.5 - distance, 0.0, 1.0);
  }
  return o;
}

// Film value of the pixel under a place of the plate: what lies on the film itself.
float film_here(int i, vec2 s) {
  uint code = code_at(i, ivec2(floor(s + 0.5)));
  if (is_tint(code)) return film_of(code);
  return clamp(0.5 - (distance_of(code, plates[i].place.z) + plates[i].place.w), 0.0, 1.0);
}

// Is there ink under the loupe?
bool inked(int i, vec2 p) {
  if (plates[i].seed.y == 0u) return false;
  vec2 s = source_of(i, p);
  vec2 base = floor(s), f = s - base;
  float reach = plates[i].place.z, spread = plates[i].place.w;
  int nearest = (f.x >= 0.5 ? 1 : 0) + (f.y >= 0.5 ? 2 : 0);
  uint codes[4];
  for (int k = 0; k < 4; ++k) codes[k] = code_at(i, ivec2(base) + ivec2(k & 1, k >> 1));
  // Nothing, or solid, all round.
  if (codes[0] < 2u && codes[1] == codes[0] && codes[2] == codes[0] && codes[3] == codes[0]) return codes[0] == 1u;
  float distance = 0.0, film = 0.0, film_weight = 0.0;
  bool tint_here = false;
  for (int k = 0; k < 4; ++k) {
    vec2 c = vec2(float(k & 1), float(k >> 1));
    vec2 w2 = mix(1.0 - f, f, c);
    float w = w2.x * w2.y;
    ivec2 at = ivec2(base + c);
    uint code = codes[k];
    bool tint = is_tint(code);
    float d = distance_of(code, reach);
    if (tint) {
      film += w * film_of(code);
      film_weight += w;
    } else {
      distance += w * d;
      float bare = d + spread;  // to the contour on film
      if (!on_plate(at) || abs(bare) >= 0.5) {
        film += bare < 0.0 ? w : 0.0;
        film_weight += w;
      }
    }
    if (k == nearest) tint_here = tint;
  }
  if (!tint_here) return distance < 0.0;
  film /= film_weight;
  if (film <= 0.0) return false;
  if (film >= 1.0) return true;
  vec4 tone = tone_at(i, film);
  vec2 at = s + 0.5;
  float u = plates[i].screen.x * at.x - plates[i].screen.y * at.y;
  float v = plates[i].screen.y * at.x + plates[i].screen.x * at.y;
  bool ink = kirtle_threshold(plates[i].what.z, u, v) < tone.y;
  if (ink && tone.z < 1.0)
    ink = kirtle_dot_chance(int(floor(u + 0.5)), int(floor(v + 0.5)), plates[i].seed.x) < tone.z;
  if (!ink && tone.w < 1.0)
    ink = !(kirtle_dot_chance(int(floor(u)), int(floor(v)), plates[i].seed.x ^ 0x68E31DA4u) < tone.w);
  return ink;
}
