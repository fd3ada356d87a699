// A plate as its film positive: black where ink prints, on a light table.
uniform vec2 u_origin, u_step, u_corner, u_jitter;
uniform int u_grid, u_plate;
uniform vec3 u_white;
out vec4 o_xyz;

void main() {
  vec2 screen = gl_FragCoord.xy - u_corner;
  vec4 sum = vec4(0.0);
  for (int j = 0; j < u_grid; ++j) {
    for (int i = 0; i < u_grid; ++i) {
      vec2 within = (vec2(float(i), float(j)) + 0.5) / float(u_grid) - 0.5 + u_jitter / float(u_grid);
      vec2 p = u_origin + (screen + within) * u_step;
      bool on = all(greaterThanEqual(p, vec2(-0.5))) && all(lessThan(p, vec2(u_size) - 0.5));
      if (on) sum += vec4(u_white * mix(0.86, 0.012, film_here(u_plate, p)), 1.0);
    }
  }
  o_xyz = sum / float(u_grid * u_grid);
}
