// One direction of the wicking's Gaussian.
uniform sampler2D u_in;
uniform ivec2 u_along;
uniform int u_half;
uniform float u_kernel[65];
out float o_dose;
void main() {
  ivec2 at = ivec2(gl_FragCoord.xy), last = textureSize(u_in, 0) - 1;
  float sum = u_kernel[0] * texelFetch(u_in, at, 0).r;
  for (int k = 1; k <= u_half; ++k) {
    sum += u_kernel[k] * (texelFetch(u_in, clamp(at + k * u_along, ivec2(0), last), 0).r +
                          texelFetch(u_in, clamp(at - k * u_along, ivec2(0), last), 0).r);
  }
  o_dose = sum;
}
