#include "compare/decision_page.h"

#include "press/register_run.h"
#include "proof/page_parts.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>

namespace kirtle {

namespace {

constexpr double kMargin = 12, kWidth = kA4.width_mm - 2 * kMargin, kGutter = 4;
constexpr double kLabels = 33;  // mm, first column of the table
constexpr PageColour kGrey{0.35, 0.35, 0.35};

TextStyle small(double pt = 7.5) {
  TextStyle s;
  s.size_pt = pt;
  s.least_pt = 5.5;
  return s;
}

/// The builds side by side: the place where the worst shirt shows most, four times its size.
double place_pictures(Page& page, double y, const Comparison& c) {
  const std::size_t columns = 3;
  const double cell = (kWidth - kGutter * (columns - 1)) / columns, picture = (cell - 2) / 2;
  const double height = picture + 9.5;
  for (std::size_t i = 0; i < c.builds.size(); ++i) {
    const ComparedBuild& b = c.builds[i];
    const double x = kMargin + static_cast<double>(i % columns) * (cell + kGutter);
    const double top = y + static_cast<double>(i / columns) * (height + 2);
    const std::string name(build_name(b.figures.kind));
    page.begin_group("build " + name, {x, top, cell, height});
    TextStyle title = small(8.5);
    title.bold = i == c.choice.best;
    title.wrap = false;
    page.text("name", {x, top, cell, 4.5},
              (i != c.choice.best ? ""
               : c.choice.none    ? "Least bad: "
                                  : "Take: ") +
                  name,
              title);
    page.picture("in register", {x, top + 5, picture, picture}, b.pictures.in_register,
                 name + ", in register, four times its size");
    page.picture("worst shirt", {x + picture + 2, top + 5, picture, picture}, b.pictures.worst,
                 name + ", on the worst shirt, four times its size");
    page.text("caption left", {x, top + 5 + picture + 0.5, picture, 4},
              fmt::format("in register at {:.0f},{:.0f} mm", b.pictures.x_mm, b.pictures.y_mm), small(6.5));
    page.text("caption right", {x + picture + 2, top + 5 + picture + 0.5, picture, 4},
              fmt::format("shirt {} of {}", b.run.showing.worst + 1, c.shirts), small(6.5));
    page.end_group();
  }
  return static_cast<double>((c.builds.size() + columns - 1) / columns) * (height + 2);
}

std::vector<std::vector<TableCell>> table_cells(const Comparison& c) {
  std::vector<std::vector<TableCell>> out;
  for (const std::vector<std::string>& row : decision_rows(c)) {
    out.emplace_back();
    for (std::size_t i = 0; i < row.size(); ++i) out.back().push_back({row[i], {}, i == c.choice.best + 1});
  }
  return out;
}

Plot tolerance_plot(const Comparison& c) {
  constexpr std::array<PlotDash, 6> kDashes{PlotDash::solid,    PlotDash::dashed,    PlotDash::dotted,
                                            PlotDash::dash_dot, PlotDash::long_dash, PlotDash::solid};
  Plot plot;
  const double quoted = holds_of_sigma(c.pair_sigma).v;
  const double widest = std::max(0.2, 3 * quoted);
  plot.x = {"press holds +- mm", 0, widest, {}, {}};
  for (int i = 0; i <= 4; ++i) {
    plot.x.ticks.push_back(widest * i / 4);
    plot.x.labels.push_back(fmt::format("{:.2f}", widest * i / 4));
  }
  plot.y = {"shirts that show", 0, 100, {0, 25, 50, 75, 100}, {"0 %", "25 %", "50 %", "75 %", "100 %"}};
  for (std::size_t i = 0; i < c.builds.size(); ++i) {
    PlotSeries s;
    s.name = std::string(build_name(c.builds[i].figures.kind));
    s.dash = kDashes[i % kDashes.size()];
    s.width_mm = i == c.choice.best ? 0.6 : 0.3;
    if (i == 5) s.colour = {0.55, 0.55, 0.55};
    for (int k = 0; k <= 60 && quoted > 0; ++k) {
      const double mm = widest * k / 60;
      s.points.push_back(
          {mm, 100 * c.builds[i].run.showing.at_factor(std::max(1e-6, mm / quoted)).visible.share});
    }
    plot.series.push_back(std::move(s));
  }
  if (quoted > 0) plot.marks.push_back({quoted, "this press"});
  plot.alt = "Share of shirts that show, against how well the press holds register, for every build";
  return plot;
}

std::string flips_text(const Comparison& c) {
  std::string out;
  for (const Flip& f : c.flips) {
    out += fmt::format("{}{} {} (now {}): {}", out.empty() ? "" : "\n", f.what, f.at, f.now,
                       f.then ? build_name(*f.then) : "none to be recommended");
  }
  return out.empty() ? fmt::format("Nothing that was tried: {}", flips_tried()) : out;
}

std::string changes_text(const Comparison& c) {
  const ShirtShare& now = c.as_they_stand.run.showing.visible;
  std::string out = fmt::format("as the plates stand, {} of {} shirts show", now.shirts, now.of);
  for (const PlateChange& change : c.builds[c.choice.best].changes) {
    for (const std::string& line : change.done)
      out += fmt::format("{}{}: {}", out.empty() ? "" : "\n", change.plate, line);
  }
  return out;
}

/// A heading and lines below it; returns the height used.
double place_lines(Page& page, const std::string& name, const PageBox& box, const std::string& heading,
                   const std::string& text) {
  double y = box.y + place_subheading(page, {box.x, box.y, box.width, 6}, heading);
  std::size_t from = 0;
  int n = 0;
  while (from <= text.size()) {
    const std::size_t end = std::min(text.find('\n', from), text.size());
    const std::string line = text.substr(from, end - from);
    const double room = box.bottom() - y;
    const double needs = measure_text(line, small(), box.width).height_mm + 0.2;
    if (room < 3) break;
    page.text(fmt::format("{} {}", name, ++n), {box.x, y, box.width, std::min(room, needs)}, line, small());
    y += std::min(room, needs) + 0.6;
    from = end + 1;
  }
  return y - box.y;
}

}  // namespace

std::string shade_in_words(double de00) {
  return de00 < 1 ? "none" : de00 < 2 ? "side by side only" : de00 <= kRefusedDe00 ? "seen" : "refused";
}

std::vector<std::vector<std::string>> decision_rows(const Comparison& c) {
  std::vector<std::vector<std::string>> rows(8);
  const bool layer = c.builds.front().figures.builds_layer;
  rows[0].push_back(fmt::format("Of {} shirts showing; widest gap", c.shirts));
  rows[1].push_back(layer ? "Ink build where most" : "Wet load where most");
  rows[2].push_back("Shade off by");
  rows[3].push_back("Shade drift over the run");
  rows[4].push_back("Other than as they stand");
  rows[5].push_back("Screens, flashes, stations");
  rows[6].push_back("Ink for the order");
  rows[7].push_back("Why not");
  for (std::size_t i = 0; i < c.builds.size(); ++i) {
    const ComparedBuild& b = c.builds[i];
    const BuildFigures& f = b.figures;
    const double widest = widest_mm(b.run);
    rows[0].push_back(fmt::format("{} ({:.0f} %); {}", b.run.showing.visible.shirts,
                                  100 * b.run.showing.visible.share,
                                  widest > 0 ? fmt::format("{:.2f} mm", widest) : "none opens"));
    rows[1].push_back(fmt::format("{:.0f} {}{}", f.load, layer ? "um" : "cm3/m2",
                                  f.load > f.load_limit         ? ", over the limit: will not cure"
                                  : f.piled                     ? ", two solids: mind the cure"
                                  : f.load > 0.9 * f.load_limit ? ", near the limit: mind the cure"
                                                                : ""));
    rows[2].push_back(fmt::format("{} (dE {:.1f})", shade_in_words(f.ramp.p95_de00), f.ramp.p95_de00));
    rows[3].push_back(fmt::format("{} (dE {:.1f})", shade_in_words(f.drift_de00), f.drift_de00));
    rows[4].push_back(fmt::format("{:.0f} % of the print", 100 * b.picture.off_share()));
    rows[5].push_back(fmt::format("{}, {}, {}", f.screens, f.flashes, f.stations));
    rows[6].push_back(fmt::format("{:.1f} kg", b.grams / 1000));
    rows[7].push_back(i == c.choice.best && !c.choice.none ? "taken" : reason_sentence(c, i));
  }
  return rows;
}

PageDocument decision_page(const Scene& scene, const Comparison& c) {
  Page page(kA4.width_mm, kA4.height_mm);
  double y = kMargin;
  y += place_heading(
           page, {kMargin, y, kWidth, 18}, "Decision: how the light and the dark meet", scene.title,
           {scene.shirt.name, fmt::format("press holds +-{:.2f} mm{}", holds_of_sigma(c.pair_sigma).v,
                                          scene.press.named || scene.press.holds ? "" : " *")}) +
       2;
  TextStyle sentence;
  sentence.size_pt = 10.5;
  sentence.least_pt = 8;
  sentence.bold = true;
  const std::string decision = decision_sentence(scene, c);
  const double needs = std::min(24.0, measure_text(decision, sentence, kWidth).height_mm + 0.2);
  page.text("decision", {kMargin, y, kWidth, needs}, decision, sentence);
  y += needs + 1;
  if (const std::string caution = caution_text(c); !caution.empty()) {
    const double room = std::min(12.0, measure_text(caution, small(8), kWidth).height_mm + 0.2);
    page.text("caution", {kMargin, y, kWidth, room}, caution, small(8));
    y += room;
  }
  y += 2;
  y += place_pictures(page, y, c) + 1;
  std::vector<TableColumn> columns{{"", kLabels, TextAlign::left}};
  for (const ComparedBuild& b : c.builds)
    columns.push_back({std::string(build_name(b.figures.kind)),
                       (kWidth - kLabels) / static_cast<double>(c.builds.size()), TextAlign::left});
  TableStyle style;
  style.size_pt = 7;
  style.least_pt = 5.5;
  style.title_pt = 7;
  style.pad_mm = 0.5;
  style.most_lines = 5;
  y += place_table(page, "builds", {kMargin, y, kWidth, 78}, columns, table_cells(c), style).height_mm + 3;

  const double left = 96, foot = 20, bottom = kA4.height_mm - kMargin - foot;
  const PageBox lower{kMargin, y, kWidth, bottom - y};
  place_plot(page, "tolerance", {kMargin, y, left, lower.height}, tolerance_plot(c));
  const double x = kMargin + left + kGutter, w = kWidth - left - kGutter;
  y += place_lines(page, "flip", {x, y, w, lower.height / 2}, "What would flip it", flips_text(c)) + 1.5;
  place_lines(page, "change", {x, y, w, bottom - y}, "Changes to the plates", changes_text(c));

  TextStyle note = small(6.5);
  note.colour = kGrey;
  page.text(
      "notes", {kMargin, bottom + 2, kWidth, foot - 10},
      fmt::format(
          "Predicted, not measured; uncalibrated colour is within dE 4 to 6 at best. Shade words, solids, "
          "smallest holes, grams: common practice, no source. The visible threshold, ink limits and the "
          "weights of the choice are placeholders.{} Discharge and cure: follow the supplier's data sheet "
          "and local rules; test print each dye lot.",
          scene.press.named || scene.press.holds ? " The press is the scene's."
                                                 : " * The press is assumed: the scene does not say."),
      note);
  PageDocument out;
  out.title = "Decision: " + scene.title;
  out.subject = "Builds of " + c.light + " and " + c.dark;
  out.pages.push_back(std::move(page));
  number_pages(out.pages, clean_text(scene.title), kMargin);
  return out;
}

}  // namespace kirtle
