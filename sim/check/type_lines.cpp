// Type among the shapes of a plate.
#include "check/plate_survey.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace kirtle::check {

namespace {

constexpr double kLowest_mm = 0.5, kTallest_mm = 5;  // letters that can be small type
constexpr int kFewestLetters = 4;
constexpr std::size_t kMostShapes = 20000;  // more are texture
constexpr double kGap = 1.2;                // of the height, between letters, words included
constexpr double kUneven = 0.18;            // of the height, between the feet of letters on one line
constexpr double kHeavy = 0.35;             // of the height: strokes of type are narrower
constexpr double kStrokes = 0.8;            // of the height: the least length of strokes a letter has

struct Shape {
  int x0, y0, x1, y1;  // to beyond the last pixel
  bool tint;
};

struct Run {
  int y, from, to;
  bool tint;
};

/// Shapes of ink: runs that touch, corners included, joined.
std::vector<Shape> shapes_of(const detail::CutPixels& p) {
  std::vector<Run> runs;
  for (int y = 0; y < p.height; ++y) {
    const std::uint8_t* row = p.cut.data() + static_cast<std::size_t>(y) * static_cast<std::size_t>(p.width);
    for (int x = 0; x < p.width;) {
      if (row[x] == 0) {
        ++x;
        continue;
      }
      Run run{y, x, x, false};
      for (; run.to < p.width && row[run.to] != 0; ++run.to)
        run.tint = run.tint || row[run.to] == detail::kCutTint;
      runs.push_back(run);
      x = run.to;
    }
  }
  std::vector<std::size_t> parent(runs.size());
  std::iota(parent.begin(), parent.end(), std::size_t{0});
  const auto root = [&](std::size_t i) {
    while (parent[i] != i) i = parent[i] = parent[parent[i]];
    return i;
  };
  std::size_t above = 0, above_end = 0;
  for (std::size_t from = 0; from < runs.size();) {
    std::size_t to = from;
    while (to < runs.size() && runs[to].y == runs[from].y) ++to;
    if (above_end > above && runs[above].y + 1 == runs[from].y) {
      for (std::size_t a = above, b = from; a < above_end && b < to;) {
        if (runs[a].from <= runs[b].to && runs[b].from <= runs[a].to) {
          const std::size_t ra = root(a), rb = root(b);
          parent[std::max(ra, rb)] = std::min(ra, rb);
        }
        (runs[a].to < runs[b].to ? a : b)++;
      }
    }
    above = from;
    above_end = to;
    from = to;
  }
  std::vector<Shape> out;
  std::vector<std::size_t> index(runs.size());
  for (std::size_t i = 0; i < runs.size(); ++i) {
    const Run& run = runs[i];
    const std::size_t r = root(i);
    if (r == i) {
      index[i] = out.size();
      out.push_back({run.from, run.y, run.to, run.y + 1, run.tint});
      continue;
    }
    Shape& s = out[index[r]];
    s.x0 = std::min(s.x0, run.from);
    s.x1 = std::max(s.x1, run.to);
    s.y1 = run.y + 1;
    s.tint = s.tint || run.tint;
  }
  return out;
}

/// Strokes within a row of letters.
void measure(TypeLine& line, const std::vector<detail::ThinPiece>& strokes) {
  const auto first =
      std::lower_bound(strokes.begin(), strokes.end(), line.y0 - 2,
                       [](const detail::ThinPiece& p, double y) { return std::min(p.y0, p.y1) < y; });
  double sum = 0;
  for (auto p = first; p != strokes.end() && std::min(p->y0, p->y1) <= line.y1; ++p) {
    const double x = 0.5 * (p->x0 + p->x1), y = 0.5 * (p->y0 + p->y1);
    if (p->gap || x < line.x0 || x > line.x1 || y < line.y0 || y > line.y1) continue;
    const double length = std::hypot(p->x1 - p->x0, p->y1 - p->y0);
    sum += length * p->width;
    line.stroke_length += length;
  }
  if (line.stroke_length > 0) line.stroke = sum / line.stroke_length;
}

}  // namespace

std::vector<TypeLine> find_type(const detail::CutPixels& pixels, double ppi,
                                const std::vector<detail::ThinPiece>& strokes) {
  const double px_mm = ppi / kMmPerInch;
  std::vector<Shape> letters = shapes_of(pixels);
  std::erase_if(letters, [&](const Shape& s) {
    const double height = s.y1 - s.y0, width = s.x1 - s.x0;
    return s.tint || height < kLowest_mm * px_mm || height > kTallest_mm * px_mm || width > 2 * height;
  });
  if (letters.size() > kMostShapes) return {};
  std::sort(letters.begin(), letters.end(),
            [](const Shape& a, const Shape& b) { return a.x0 != b.x0 ? a.x0 < b.x0 : a.y0 < b.y0; });
  std::vector<bool> used(letters.size());
  std::vector<TypeLine> out;
  for (std::size_t i = 0; i < letters.size(); ++i) {
    if (used[i]) continue;
    std::vector<std::size_t> word{i};
    for (std::size_t j = i + 1; j < letters.size(); ++j) {
      const Shape &last = letters[word.back()], &s = letters[j];
      const double height = std::max(last.y1 - last.y0, s.y1 - s.y0);
      if (s.x0 > last.x1 + kGap * kTallest_mm * px_mm) break;
      const double low = std::min(last.y1 - last.y0, s.y1 - s.y0);
      if (used[j] || s.x0 < last.x1 - 1 || s.x0 > last.x1 + kGap * height || low < 0.55 * height ||
          std::abs(s.y1 - last.y1) > std::max(1.5, kUneven * height)) {
        continue;
      }
      word.push_back(j);
    }
    if (static_cast<int>(word.size()) < kFewestLetters) continue;
    TypeLine line{1e9, 1e9, 0, 0, static_cast<int>(word.size()), 0, 0, 0};
    for (const std::size_t j : word) {
      const Shape& s = letters[j];
      line.x0 = std::min<double>(line.x0, s.x0);
      line.y0 = std::min<double>(line.y0, s.y0);
      line.x1 = std::max<double>(line.x1, s.x1);
      line.y1 = std::max<double>(line.y1, s.y1);
      line.height = std::max<double>(line.height, s.y1 - s.y0);
    }
    measure(line, strokes);
    if (line.stroke_length < kStrokes * line.height * line.letters || line.stroke > kHeavy * line.height)
      continue;
    for (const std::size_t j : word) used[j] = true;
    out.push_back(line);
  }
  return out;
}

}  // namespace kirtle::check
