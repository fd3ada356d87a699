#include "base/check.h"
#include "proof/page_parts.h"

#include <algorithm>
#include <cmath>

namespace kirtle {

namespace {

constexpr PageColour kGrid{0.85, 0.85, 0.85}, kDark{0.2, 0.2, 0.2};
constexpr double kTick = 4.2, kLegendRow = 4.6;
constexpr double kLabelDrop = 2.2;  // the lowest label beside the axis ends above those below it

std::vector<double> dash_of(PlotDash dash) {
  switch (dash) {
    case PlotDash::solid:
      return {};
    case PlotDash::dashed:
      return {2.2, 1.4};
    case PlotDash::dotted:
      return {0.5, 1.0};
    case PlotDash::dash_dot:
      return {2.6, 0.9, 0.5, 0.9};
    case PlotDash::long_dash:
      return {4.5, 1.4};
  }
  return {};
}

/// A polyline cut off at the box, as pieces. Liang and Barsky 1984, ACM Trans. Graph. 3(1):1,
/// doi:10.1145/357332.357333.
std::vector<std::vector<PagePoint>> clipped(const std::vector<PagePoint>& points, const PageBox& box) {
  std::vector<std::vector<PagePoint>> pieces;
  bool open = false;
  for (std::size_t i = 1; i < points.size(); ++i) {
    const PagePoint a = points[i - 1], b = points[i];
    const double dx = b.x - a.x, dy = b.y - a.y;
    double t0 = 0, t1 = 1;
    bool seen = std::isfinite(dx) && std::isfinite(dy);
    const auto side = [&](double p, double q) {
      if (p == 0) {
        seen = seen && q >= 0;
      } else if (p < 0) {
        t0 = std::max(t0, q / p);
      } else {
        t1 = std::min(t1, q / p);
      }
    };
    side(-dx, a.x - box.x);
    side(dx, box.right() - a.x);
    side(-dy, a.y - box.y);
    side(dy, box.bottom() - a.y);
    if (!seen || t0 > t1) {
      open = false;
      continue;
    }
    if (!open || t0 > 0) pieces.push_back({{a.x + t0 * dx, a.y + t0 * dy}});
    pieces.back().push_back({a.x + t1 * dx, a.y + t1 * dy});
    open = t1 >= 1;
  }
  return pieces;
}

TextStyle small_text(TextAlign align) {
  TextStyle out;
  out.size_pt = 7.5;
  out.least_pt = 5.5;
  out.wrap = false;
  out.align = align;
  return out;
}

}  // namespace

void place_plot(Page& page, const std::string& name, const PageBox& box, const Plot& plot) {
  KIRTLE_CHECK(plot.x.high, >, plot.x.low);
  KIRTLE_CHECK(plot.y.high, >, plot.y.low);
  KIRTLE_CHECK(plot.x.labels.size(), ==, plot.x.ticks.size());
  KIRTLE_CHECK(plot.y.labels.size(), ==, plot.y.ticks.size());
  double label_width = 0, legend_width = 0;
  for (const std::string& label : plot.y.labels)
    label_width = std::max(label_width, measure_text(label, small_text(TextAlign::right), 100).width_mm);
  for (const PlotSeries& s : plot.series)
    legend_width = std::max(legend_width, measure_text(s.name, small_text(TextAlign::left), 500).width_mm);
  // A legend in as many columns as fit.
  legend_width = std::min(legend_width + 14, box.width);
  const std::size_t across = std::max<std::size_t>(1, static_cast<std::size_t>(box.width / legend_width));
  const std::size_t legend_rows = (plot.series.size() + across - 1) / across;
  const double top = plot.marks.empty() ? kTick : 2 * kTick;
  const double below = 2 * kTick + kLabelDrop + kLegendRow * static_cast<double>(legend_rows) + 0.5;
  const PageBox area{box.x + label_width + 1.5, box.y + top, box.width - label_width - 1.5 - 4,
                     box.height - top - below};
  KIRTLE_CHECK(area.width, >, 5.0);
  KIRTLE_CHECK(area.height, >, 5.0);
  const auto x_at = [&](double x) {
    return area.x + (x - plot.x.low) / (plot.x.high - plot.x.low) * area.width;
  };
  const auto y_at = [&](double y) {
    return area.bottom() - (y - plot.y.low) / (plot.y.high - plot.y.low) * area.height;
  };

  page.begin_group(name, box);
  page.text(name + " y title", {box.x, box.y, box.width, kTick}, plot.y.title, small_text(TextAlign::left));
  for (std::size_t i = 0; i < plot.y.ticks.size(); ++i) {
    const double y = y_at(plot.y.ticks[i]);
    page.line(name + " grid", {{{area.x, y}, {area.right(), y}}, 0.12, kGrid, {}, false});
    page.text(name + " y label", {box.x, y - kTick / 2, label_width + 0.2, kTick}, plot.y.labels[i],
              small_text(TextAlign::right));
  }
  const double label_room =
      plot.x.ticks.empty() ? area.width : area.width / static_cast<double>(plot.x.ticks.size());
  for (std::size_t i = 0; i < plot.x.ticks.size(); ++i) {
    const double x = x_at(plot.x.ticks[i]);
    page.line(name + " tick", {{{x, area.bottom()}, {x, area.bottom() + 1}}, 0.2, kDark, {}, false});
    const double half = std::min({label_room / 2, x - box.x, box.right() - x});
    page.text(name + " x label", {x - half, area.bottom() + kLabelDrop, 2 * half, kTick}, plot.x.labels[i],
              small_text(TextAlign::centre));
  }
  page.text(name + " x title", {area.x, area.bottom() + kLabelDrop + kTick, area.width, kTick}, plot.x.title,
            small_text(TextAlign::centre));
  page.line(
      name + " axes",
      {{{area.x, area.y}, {area.x, area.bottom()}, {area.right(), area.bottom()}}, 0.25, kDark, {}, false});
  double taken = box.x;
  for (const PlotMark& mark : plot.marks) {
    const double x = x_at(mark.x);
    if (!(x >= area.x && x <= area.right())) continue;
    page.line(name + " mark", {{{x, area.y}, {x, area.bottom()}}, 0.2, kDark, {0.8, 0.8}, false});
    const double width = measure_text(mark.name, small_text(TextAlign::centre), 500).width_mm + 0.4;
    const double left = std::clamp(x - width / 2, taken, std::max(taken, box.right() - width));
    const double room = std::min(width, box.right() - left);
    if (!(room > 3)) continue;
    page.text(name + " mark name", {left, box.y + kTick, room, kTick}, mark.name,
              small_text(TextAlign::centre));
    taken = left + room + 1;
  }
  for (const PlotSeries& s : plot.series) {
    std::vector<PagePoint> points;
    for (const PagePoint& p : s.points) points.push_back({x_at(p.x), y_at(p.y)});
    for (std::vector<PagePoint>& piece : clipped(points, area))
      page.line(name + " curve " + s.name, {std::move(piece), s.width_mm, s.colour, dash_of(s.dash), false});
  }
  for (std::size_t i = 0; i < plot.series.size(); ++i) {
    const PlotSeries& s = plot.series[i];
    const double x = box.x + static_cast<double>(i % across) * legend_width;
    const double y =
        area.bottom() + kLabelDrop + 0.4 + 2 * kTick + static_cast<double>(i / across) * kLegendRow;
    page.line(name + " legend",
              {{{x, y + kTick / 2}, {x + 10, y + kTick / 2}}, s.width_mm, s.colour, dash_of(s.dash), false});
    page.text(name + " legend name", {x + 11.5, y, legend_width - 13, kTick}, s.name,
              small_text(TextAlign::left));
  }
  page.end_group();
}

}  // namespace kirtle
