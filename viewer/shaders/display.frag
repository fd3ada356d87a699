// From XYZ to the monitor, through the table of viewer/display_table.h.
uniform sampler2D u_xyz;    // sums of premultiplied XYZ and cover
uniform float u_passes;
uniform mat3 u_to_linear;    // XYZ to linear sRGB
uniform vec2 u_axis;         // first node, step
uniform sampler3D u_table;
uniform int u_from_top;     // 1: rows of u_xyz run from the top
uniform ivec2 u_offset;    // of this picture in the target
uniform vec3 u_surround;    // display values
out vec4 o_rgb;
void main() {
  ivec2 at = ivec2(gl_FragCoord.xy) - u_offset;
  if (u_from_top == 1) at.y = textureSize(u_xyz, 0).y - 1 - at.y;
  vec4 c = texelFetch(u_xyz, at, 0) / u_passes;
  if (c.a <= 0.0) {
    o_rgb = vec4(u_surround, 1.0);
    return;
  }
  vec3 linear = u_to_linear * (c.rgb / c.a);
  vec3 size = abs(linear);
  vec3 encoded = sign(linear) * mix(12.92 * size, 1.055 * pow(size, vec3(1.0 / 2.4)) - 0.055, step(vec3(0.0031308), size));
  float n = float(textureSize(u_table, 0).x);
  vec3 node = clamp((encoded - u_axis.x) / u_axis.y, 0.0, n - 1.0);
  vec3 rgb = texture(u_table, (node + 0.5) / n).rgb;
  o_rgb = vec4(mix(u_surround, rgb, min(c.a, 1.0)), 1.0);
}
