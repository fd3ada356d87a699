// From XYZ to the monitor, through a table over the cube roots of XYZ / white.
uniform sampler2D u_xyz;    // sums of premultiplied XYZ and cover
uniform float u_passes;
uniform vec3 u_white;
uniform sampler3D u_table;
uniform ivec2 u_offset;    // of this picture in the target
uniform vec3 u_surround;    // display values
out vec4 o_rgb;
void main() {
  vec4 c = texelFetch(u_xyz, ivec2(gl_FragCoord.xy) - u_offset, 0) / u_passes;
  if (c.a <= 0.0) {
    o_rgb = vec4(u_surround, 1.0);
    return;
  }
  vec3 root = pow(clamp(c.rgb / c.a / u_white, 0.0, 1.0), vec3(1.0 / 3.0));
  float n = float(textureSize(u_table, 0).x);
  vec3 rgb = texture(u_table, (root * (n - 1.0) + 0.5) / n).rgb;
  o_rgb = vec4(mix(u_surround, rgb, min(c.a, 1.0)), 1.0);
}
