#include "garment.h"

#include <algorithm>
#include <cmath>

namespace kirtle {

namespace {

struct P {
  double x = 0, y = 0;
};

void curve(std::vector<P>& line, P a, P b, P c, P d) {
  for (int i = 1; i <= 16; ++i) {
    const double t = i / 16.0, s = 1 - t;
    line.push_back({s * s * s * a.x + 3 * s * s * t * b.x + 3 * s * t * t * c.x + t * t * t * d.x,
                    s * s * s * a.y + 3 * s * s * t * b.y + 3 * s * t * t * c.y + t * t * t * d.y});
  }
}

/// The right half from the collar's front down to the hem's middle.
std::vector<P> right_half() {
  std::vector<P> line{{0, 0}};
  curve(line, {0, 0}, {52, 0}, {92, -34}, {98, -92});           // neckline
  curve(line, {98, -92}, {150, -78}, {200, -58}, {248, -36});   // shoulder
  curve(line, {248, -36}, {300, -8}, {366, 96}, {404, 172});    // sleeve
  curve(line, {404, 172}, {372, 196}, {336, 212}, {300, 222});  // sleeve's opening
  curve(line, {300, 222}, {288, 196}, {278, 178}, {268, 160});  // under the arm
  curve(line, {268, 160}, {264, 300}, {266, 440}, {272, 610});  // side
  curve(line, {272, 610}, {180, 622}, {90, 626}, {0, 626});     // hem
  return line;
}

double to_segment(P p, P a, P b) {
  const double dx = b.x - a.x, dy = b.y - a.y, l = dx * dx + dy * dy;
  const double t = l > 0 ? std::clamp(((p.x - a.x) * dx + (p.y - a.y) * dy) / l, 0.0, 1.0) : 0;
  return std::hypot(p.x - a.x - t * dx, p.y - a.y - t * dy);
}

double to_line(P p, const std::vector<P>& line) {
  double d = 1e9;
  for (std::size_t i = 1; i < line.size(); ++i) d = std::min(d, to_segment(p, line[i - 1], line[i]));
  return d;
}

/// Inside a closed line?
bool within(P p, const std::vector<P>& line) {
  bool in = false;
  for (std::size_t i = 0, j = line.size() - 1; i < line.size(); j = i++) {
    if ((line[i].y > p.y) != (line[j].y > p.y) &&
        p.x < (line[j].x - line[i].x) * (p.y - line[i].y) / (line[j].y - line[i].y) + line[i].x)
      in = !in;
  }
  return in;
}

GarmentDrawing draw() {
  GarmentDrawing g{-420, -110, 840, 752, 420, 376, {}};
  std::vector<P> outline = right_half();
  for (std::size_t i = outline.size(); i-- > 1;) outline.push_back({-outline[i].x, outline[i].y});
  // Seams of the right half; the left half is its mirror.
  std::vector<std::vector<P>> seams(4);
  seams[0] = {{0, 22}};
  curve(seams[0], {0, 22}, {66, 22}, {112, -22}, {120, -86});  // collar band
  seams[1] = {{236, -42}};
  curve(seams[1], {236, -42}, {226, 20}, {236, 100}, {268, 160});  // armhole
  seams[2] = {{392, 150}};
  curve(seams[2], {392, 150}, {360, 174}, {326, 190}, {291, 200});  // sleeve's hem
  seams[3] = {{271, 588}};
  curve(seams[3], {271, 588}, {180, 600}, {90, 604}, {0, 604});  // hem
  for (int r = 0; r < g.rows; ++r) {
    for (int c = 0; c < g.columns; ++c) {
      const P p{g.left_mm + (c + 0.5) * g.width_mm / g.columns, g.top_mm + (r + 0.5) * g.height_mm / g.rows};
      const P right{std::abs(p.x), p.y};
      double seam = 1e9;
      for (const auto& line : seams) seam = std::min(seam, to_line(right, line));
      const double edge = to_line(p, outline);
      g.distance.push_back(static_cast<float>(within(p, outline) ? edge : -edge));
      g.distance.push_back(static_cast<float>(std::min(seam, 100.0)));
    }
  }
  return g;
}

}  // namespace

const GarmentDrawing& garment_drawing() {
  static const GarmentDrawing drawing = draw();
  return drawing;
}

}  // namespace kirtle
