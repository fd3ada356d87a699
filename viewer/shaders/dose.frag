// Dots of one soaked plate, before they wick: ink or none at each point of a raster.
uniform vec2 u_origin, u_step;
uniform int u_plate;
out float o_ink;
void main() { o_ink = inked(u_plate, u_origin + (gl_FragCoord.xy - 0.5) * u_step) ? 1.0 : 0.0; }
