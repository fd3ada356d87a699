// The dot shapes, written once: this text compiles as C++ (see threshold.h) and as GLSL 3.30 (a shader
// defines REAL as float, UINT as uint and FUNC as nothing, then takes this text as it is). So: no tables, no
// references, and only what both languages have under one name (sqrt, asin, abs, floor, min, max). Shapes by
// number: 0 round, 1 elliptical, 2 inverting, 3 line, 4 square (DotShape in screen.h).

// Area of an ellipse of half axes a, b > 0 (periods) about the centre of a period, cut off at its edges:
// 0..1. Source: closed form; four times the area below y = b sqrt(1 - x^2 / a^2), y <= 1/2, x <= 1/2.
FUNC REAL kirtle_ellipse_area(REAL a, REAL b) {
  REAL whole = REAL(3.14159265358979324) * a * b;
  if (a <= REAL(0.5) && b <= REAL(0.5)) return whole;
  REAL h = REAL(0.5) / b;
  REAL from =
      b > REAL(0.5) ? sqrt(max(REAL(1.0) - h * h, REAL(0.0))) : REAL(0.0);  // where it leaves the top edge
  REAL to = min(REAL(0.5) / a, REAL(1.0));
  if (from >= to) return REAL(1.0);
  REAL upper = asin(to) + to * sqrt(max(REAL(1.0) - to * to, REAL(0.0)));
  REAL lower = asin(from) + from * sqrt(REAL(1.0) - from * from);
  return min(REAL(2.0) * a * from + REAL(2.0) * a * b * (upper - lower), REAL(1.0));
}

// The share of the period that is inked before the point (u, v), in periods from a dot's centre, any period:
// 0 up to but not including 1. The points below a level a cover exactly a of the period.
FUNC REAL kirtle_threshold(int shape, REAL u_any, REAL v_any) {
  REAL u = abs(u_any - floor(u_any + REAL(0.5)));
  REAL v = abs(v_any - floor(v_any + REAL(0.5)));
  REAL t = REAL(0.0);
  if (shape == 0) {
    REAL r = sqrt(u * u + v * v);
    t = kirtle_ellipse_area(r, r);
  } else if (shape == 1) {
    REAL s = sqrt(u * u * REAL(0.8) + v * v / REAL(0.8));
    t = kirtle_ellipse_area(s / sqrt(REAL(0.8)), s * sqrt(REAL(0.8)));
  } else if (shape == 2) {
    // Discs cut off by the square on its corner that is half of the period; beyond it the same about the
    // holes.
    bool hole = u + v > REAL(0.5);
    REAL x = hole ? REAL(0.5) - u : u;
    REAL y = hole ? REAL(0.5) - v : v;
    REAL r = sqrt(REAL(2.0) * (x * x + y * y));
    REAL half_area = REAL(0.5) * kirtle_ellipse_area(r, r);
    t = hole ? REAL(1.0) - half_area : half_area;
  } else if (shape == 3) {
    t = REAL(2.0) * u;
  } else {
    REAL side = REAL(2.0) * max(u, v);
    t = side * side;
  }
  return min(t, REAL(0.99999988));
}

// A number for the dot with these indices on the screen with this seed: 0 up to but not including 1. The
// mixing steps are those of MurmurHash3's finaliser (public domain, Appleby), from memory.
FUNC REAL kirtle_dot_chance(int dot_u, int dot_v, UINT seed) {
  UINT h = UINT(dot_u) * 0x9E3779B1u ^ (UINT(dot_v) * 0x85EBCA77u + seed * 0xC2B2AE3Du);
  h = (h ^ (h >> 16)) * 0x85EBCA6Bu;
  h = (h ^ (h >> 13)) * 0xC2B2AE35u;
  h = h ^ (h >> 16);
  return REAL(h >> 8) / REAL(16777216.0);
}
