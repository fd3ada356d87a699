// The print in one pane: arm's length, loupe, or both on the way from one to the other.
uniform vec2 u_origin;    // place of the print, pixels, at the pane's lower left corner
uniform vec2 u_step;      // pixels of the print a screen pixel, right and up
uniform vec2 u_corner;    // of the pane in the target
uniform vec2 u_jitter;    // of this pass, screen pixels
uniform int u_grid;       // points a screen pixel, across and down
uniform float u_loupe;    // 0 arm's length .. 1 loupe
uniform float u_small;    // 0 plates .. 1 a picture that sim has drawn: the pyramid, or what the loupe shows
uniform sampler2D u_pyramid;
uniform float u_pyramid_level;
uniform vec4 u_pyramid_place;  // print pixels to the picture: origin, scale to 0..1
uniform sampler2D u_garment;   // distance to the garment's outline and to its seams, mm, inside > 0
uniform vec4 u_garment_place;  // mm of its texture: left, top, width, height; width 0 = none
uniform float u_mm_per_px;
uniform sampler2D u_loupe_dose[FIELDS > 0 ? FIELDS : 1];  // wicked dots
uniform vec4 u_dose_place;     // print pixels to the textures: origin, scale to 0..1
uniform int u_show_code;       // for tests: the overprint's number in place of its colour
out vec4 o_xyz;

const int kPointsHalf = 32;

// Which of 8 x 8 points of a pixel lie inside a contour.
uvec2 points_inside(float d, vec2 slope, float size) {
  uvec2 m = uvec2(0u);
  for (int j = 0; j < 8; ++j) {
    float down = (float(j) + 0.5) / 8.0 - 0.5;
    for (int i = 0; i < 8; ++i) {
      float across = (float(i) + 0.5) / 8.0 - 0.5;
      if (d + size * (slope.x * across + slope.y * down) < 0.0) {
        int n = j * 8 + i;
        if (n < kPointsHalf) m.x |= 1u << n;
        else m.y |= 1u << (n - kPointsHalf);
      }
    }
  }
  return m;
}

float contour_at(int i, vec2 p) {
  Laid l = laid_at(i, p);
  return l.contour ? l.distance : l.cover > 0.5 ? -plates[i].place.z : plates[i].place.z;
}

vec2 slope_at(int i, vec2 p) {
  vec2 low = max(p - 1.0, vec2(0.0)), high = min(p + 1.0, vec2(u_size) - 1.0);
  float side[4];
  for (int n = 0; n < unknown(4); ++n) {
    vec2 at = n < 2 ? vec2(n == 0 ? low.x : high.x, p.y) : vec2(p.x, n == 2 ? low.y : high.y);
    side[n] = contour_at(i, at);
  }
  vec2 s = vec2(side[1] - side[0], side[3] - side[2]) / max(high - low, vec2(1.0));
  float length_ = length(s);
  return length_ > 1.0 ? s / length_ : s;
}

vec3 arms_length(vec2 p, float size) {
  float cover[PLATES];
  float d[PLATES];
  int edges = 0;
  int edge[PLATES];
  for (int i = 0; i < unknown(PLATES); ++i) {
    Laid l = laid_at(i, p);
    cover[i] = l.cover;
    d[i] = l.distance;
    if (l.contour) {
      if (u_near == 0 && abs(l.distance) < 0.5 * size) edge[edges++] = i;
      else cover[i] = l.distance < 0.0 ? 1.0 : 0.0;
    }
  }
  uvec2 mask[PLATES];
  if (edges > 1) {
    for (int k = 0; k < edges; ++k) mask[k] = points_inside(d[edge[k]], slope_at(edge[k], p), size);
  }
  float share = edges == 1 ? clamp(0.5 - d[edge[0]] / size, 0.0, 1.0) : 0.0;
  // One contour cuts the pixel in two parts, none in one; of several each combination of sides has its points.
  vec3 sum = vec3(0.0);
  for (int c = 0; c < (1 << edges); ++c) {
    uvec2 points = uvec2(0xFFFFFFFFu);
    for (int k = 0; k < edges; ++k) {
      bool inside = (c >> k & 1) != 0;
      if (edges > 1) points &= inside ? mask[k] : ~mask[k];
      cover[edge[k]] = inside ? 1.0 : 0.0;
    }
    float part = edges == 1 ? (c == 1 ? share : 1.0 - share) : float(bits(points.x) + bits(points.y)) / 64.0;
    if (part > 0.0) sum += mixed(cover) * part;
  }
  return sum;
}

vec3 under_loupe(vec2 p) {
  int key = 0;
  Cell cell;
#if FIELDS > 0
  float doses[FIELDS];
  vec2 at = (p - u_dose_place.xy) * u_dose_place.zw;
  // Samplers of an array are named by constants in this version of the language.
  doses[0] = texture(u_loupe_dose[0], at).r;
#if FIELDS > 1
  doses[1] = texture(u_loupe_dose[1], at).r;
#endif
#if FIELDS > 2
  doses[2] = texture(u_loupe_dose[2], at).r;
#endif
#if FIELDS > 3
  doses[3] = texture(u_loupe_dose[3], at).r;
#endif
  cell = cell_of(doses);
#endif
  for (int i = 0; i < unknown(PLATES); ++i) {
    if (plates[i].what.x == 0 && inked(i, p)) key |= 1 << plates[i].what.y;
  }
  if (u_show_code != 0) return vec3(float(key));
  return pair_value(cell, pair_of(key, key));
}

vec4 seen_at(vec2 p, float size) {
  bool print = all(greaterThanEqual(p, vec2(-0.5))) && all(lessThan(p, vec2(u_size) - 0.5));
  if (print) {
    vec2 at = (p - u_pyramid_place.xy) * u_pyramid_place.zw;
    float drawn = all(greaterThanEqual(at, vec2(0.0))) && all(lessThanEqual(at, vec2(1.0))) ? u_small : 0.0;
    vec3 xyz = vec3(0.0);
    if (drawn < 1.0) {
      if (u_loupe < 1.0) xyz += (1.0 - u_loupe) * arms_length(p, size);
      if (u_loupe > 0.0) xyz += u_loupe * under_loupe(p);
    }
    if (drawn > 0.0) xyz = mix(xyz, textureLod(u_pyramid, at, u_pyramid_level).rgb, drawn);
    return vec4(xyz, 1.0);
  }
  if (u_garment_place.z <= 0.0) return vec4(0.0);
  vec2 mm = (p + 0.5) * u_mm_per_px;
  vec2 at = (mm - u_garment_place.xy) / u_garment_place.zw;
  if (any(lessThan(at, vec2(0.0))) || any(greaterThan(at, vec2(1.0)))) return vec4(0.0);
  vec2 g = texture(u_garment, at).rg;
  float px = 0.5 * u_step.x * u_mm_per_px;
  float inside = clamp(0.5 + g.x / max(2.0 * px, 1.0e-4), 0.0, 1.0);
  if (inside <= 0.0) return vec4(0.0);
  // The garment turns away at its outline; its seams are drawn as fine shadows. A drawing, not a prediction.
  float shade = mix(0.72, 1.0, smoothstep(-2.0, 26.0, g.x)) * mix(0.78, 1.0, smoothstep(0.3, 1.6 + px, abs(g.y)));
  return vec4(bare() * shade, 1.0) * inside;
}

void main() {
  vec2 screen = gl_FragCoord.xy - u_corner;
  float size = max(1.0, abs(u_step.x) / float(u_grid));
  if (abs(u_step.x) < 1.0) size = abs(u_step.x);
  vec4 sum = vec4(0.0);
  for (int j = 0; j < u_grid; ++j) {
    for (int i = 0; i < u_grid; ++i) {
      vec2 within = (vec2(float(i), float(j)) + 0.5) / float(u_grid) - 0.5 + u_jitter / float(u_grid);
      sum += seen_at(u_origin + (screen + within) * u_step, size);
    }
  }
  o_xyz = sum / float(u_grid * u_grid);
}
