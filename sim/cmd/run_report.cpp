// The words and figures of kirtle run.
#include "cmd/run_report.h"

#include "cmd/run_json.h"

#include <cmath>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace kirtle {

namespace {

constexpr double kCurveSteps[] = {0.25, 0.5, 0.75, 1, 1.25, 1.5, 2, 2.5, 3, 4};

nlohmann::json seen_json(const RunReport& r) {
  nlohmann::json j;
  j["threshold_dE00"] = r.eye.threshold;
  j["least_area_mm2"] = r.eye.least_mm2;
  j["pixels_per_inch"] = r.seen.ppi;
  j["differs"] = to_json(r.seen.differs);
  j["shirts"] = nlohmann::json::array();
  for (std::size_t i = 0; i < r.seen.seen.size(); ++i) {
    const SeenOnShirt& s = r.seen.seen[i];
    j["shirts"].push_back({{"number", r.seen.numbers[i]},
                           {"largest_dE00", s.largest_de00},
                           {"at_mm", {s.x_mm, s.y_mm}},
                           {"p999_dE00", s.p999_de00},
                           {"area_mm2", s.area_mm2},
                           {"differs", s.differs}});
  }
  return j;
}

nlohmann::json drift_json(const RunDrift& drift) {
  nlohmann::json j = nlohmann::json::array();
  for (const ShadeDrift& d : drift.pairs) {
    j.push_back({{"between", {d.plate_a, d.plate_b}},
                 {"area_mm2", d.area_mm2},
                 {"mean_dE00", d.mean_de00},
                 {"p95_dE00", d.p95_de00},
                 {"mean_dL", d.mean_dl},
                 {"worst_shirt", d.worst_shirt},
                 {"in_words", shade_words(d.p95_de00)}});
  }
  return j;
}

std::string seen_text(const RunReport& r) {
  if (r.seen.seen.empty()) return {};
  std::string out = fmt::format(
      "\nby eye     side by side with a print in register, from {:.1f} m (spatial CIELAB, {:.0f} per "
      "inch):\n",
      r.eye.distance.v / 1000, r.seen.ppi);
  if (r.eye_on == EyeOn::all) {
    out += fmt::format("           {} of {} shirts differ by over dE00 {:g} on {:g} mm2 or more\n",
                       r.seen.differs.shirts, r.seen.differs.of, r.eye.threshold, r.eye.least_mm2);
  }
  const auto shirt = [&](const char* label, int number) {
    for (std::size_t i = 0; i < r.seen.seen.size(); ++i) {
      if (r.seen.numbers[i] != number) continue;
      const SeenOnShirt& s = r.seen.seen[i];
      out += fmt::format("           {} {}: dE00 up to {:.1f} at {:.0f},{:.0f} mm; over {:g} on {:.0f} mm2\n",
                         label, number, s.largest_de00, s.x_mm, s.y_mm, r.eye.threshold, s.area_mm2);
      return;
    }
  };
  shirt("typical", r.run.showing.typical + 1);
  shirt("worst", r.run.showing.worst + 1);
  return out;
}

std::string drift_text(const RunDrift& drift) {
  if (drift.pairs.empty()) return {};
  std::string out = "\ntints through one screen     area    shade drifts dE00    on 1 shirt in 20\n";
  for (std::size_t i = 0; i < std::min<std::size_t>(drift.pairs.size(), 8); ++i) {
    const ShadeDrift& d = drift.pairs[i];
    out += fmt::format("  {:<20} {:>7.1f} cm2 {:>12.1f} {:<9} over {:.1f}: {}\n",
                       d.plate_a + " / " + d.plate_b, d.area_mm2 / 100, d.mean_de00,
                       std::abs(d.mean_dl) < 0.3 ? ""
                       : d.mean_dl > 0           ? "(lighter)"
                                                 : "(darker)",
                       d.p95_de00, shade_words(d.p95_de00));
  }
  return out + "  (another angle for one of the two stops it)\n";
}

}  // namespace

std::string run_json(const RunReport& r) {
  const ShirtRun& run = r.run;
  nlohmann::json j;
  j["kirtle_run"] = 1;
  j["scene"] = printable(r.scene.file.string(), 4096);
  j["press"] = r.scene.press.preset.id;
  j["pair_sigma_mm"] = run.pair_sigma_mm;
  j["press_holds_mm"] = run.quoted_mm;
  j["seed"] = r.scene.press.seed;
  j["distance_mm"] = r.settings.visible.distance.v;
  j["cancelled"] = r.cancelled;
  j["shirts_asked"] = r.asked;
  j["shirts_done"] = run.showing.shirts.size();
  j["gap_threshold"] = r.settings.visible.threshold;
  j["gap_threshold_is"] = "placeholder, no source";
  j["shows_visibly"] = to_json(run.showing.visible);
  j["any_gap"] = to_json(run.showing.gap);
  j["design_holds_mm"] = finite(run.stands_mm);
  const auto shirt = [&](int i) -> nlohmann::json {
    if (i < 0) return nullptr;
    const ShirtShowing& s = run.showing.shirts[static_cast<std::size_t>(i)];
    return {{"number", i + 1},      {"widest_mm", s.widest_mm}, {"at_mm", {s.x_mm, s.y_mm}},
            {"visible", s.visible}, {"length_mm", s.length_mm}, {"area_mm2", s.area_mm2}};
  };
  j["typical_shirt"] = shirt(run.showing.typical);
  j["worst_shirt"] = shirt(run.showing.worst);
  j["eye"] = seen_json(r);
  j["shade_drift"] = drift_json(r.drift);
  j["map"] = {{"cell_mm", run.showing.map.cell_mm},
              {"columns", run.showing.map.columns},
              {"rows", run.showing.map.rows},
              {"strongest_colour_share", r.map_scale},
              {"shirts", run.showing.map.shirts}};
  for (const ShowingKind& k : run.kinds) {
    j["edges"].push_back({{"between", {k.plate_a, k.plate_b}},
                          {"shows", k.shows},
                          {"length_mm", k.length_mm},
                          {"least_overlap_mm", k.least_overlap_mm},
                          {"worst_on_shirts", k.shirts_worst_here}});
  }
  for (const double f : kCurveSteps) {
    const TolerancePoint p = run.showing.at_factor(f);
    j["tolerance"].push_back({{"press_holds_mm", f * run.quoted_mm},
                              {"visible", to_json(p.visible)},
                              {"any_gap", to_json(p.gap)}});
  }
  return json_text(j) + "\n";
}

std::string tolerance_svg(const ShirtRun& run) {
  constexpr double kW = 640, kH = 360, kLeft = 60, kBottom = 50, kTop = 20, kRight = 20;
  const double widest = 4 * run.quoted_mm;
  const auto x = [&](double mm) { return kLeft + mm / widest * (kW - kLeft - kRight); };
  const auto y = [&](double share) { return kH - kBottom - share * (kH - kBottom - kTop); };
  std::string out = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}\" height=\"{1}\" viewBox=\"0 0 {0} {1}\" "
      "font-family=\"sans-serif\" font-size=\"13\"><rect width=\"{0}\" height=\"{1}\" fill=\"#fff\"/>\n",
      kW, kH);
  for (int i = 0; i <= 4; ++i) {
    out += fmt::format(
        "<path d=\"M{:.1f} {:.1f}H{}\" stroke=\"#ddd\"/><text x=\"{}\" y=\"{:.1f}\" text-anchor=\"end\">{} "
        "%</text>\n",
        kLeft, y(i / 4.0), kW - kRight, kLeft - 6, y(i / 4.0) + 4, 25 * i);
    out += fmt::format("<text x=\"{:.1f}\" y=\"{}\" text-anchor=\"middle\">{:.2f}</text>\n",
                       x(widest * i / 4), kH - 30, widest * i / 4);
  }
  const auto line = [&](bool visible, const char* stroke, const char* dash) {
    std::string path;
    for (int i = 0; i <= 80; ++i) {
      const TolerancePoint p = run.showing.at_factor(i == 0 ? 1e-9 : 4.0 * i / 80);
      path += fmt::format("{}{:.1f} {:.1f}", i == 0 ? 'M' : 'L', x(widest * i / 80),
                          y(visible ? p.visible.share : p.gap.share));
    }
    out += fmt::format("<path d=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"2\"{}/>\n", path, stroke,
                       dash);
  };
  line(false, "#888", " stroke-dasharray=\"6 4\"");
  line(true, "#000", "");
  out += fmt::format(
      "<path d=\"M{0:.1f} {1}V{2}\" stroke=\"#000\" stroke-dasharray=\"2 3\"/><text x=\"{0:.1f}\" y=\"{3}\" "
      "text-anchor=\"middle\">this press</text>\n",
      x(run.quoted_mm), kTop, kH - kBottom, kTop - 6);
  out += fmt::format("<text x=\"{}\" y=\"{}\" text-anchor=\"middle\">press holds +- mm</text>\n", kW / 2,
                     kH - 8);
  out += fmt::format("<text x=\"{}\" y=\"{}\">black: seen; grey, dashed: any gap</text></svg>\n", kLeft + 8,
                     kTop + 12);
  return out;
}

std::string shirts_csv(const RunReport& r) {
  const bool eye = r.eye_on == EyeOn::all;
  std::string out = "shirt,any_gap,visible,widest_mm,x_mm,y_mm,visible_length_mm,visible_area_mm2";
  out += eye ? ",eye_largest_dE00,eye_p999_dE00,eye_area_mm2,eye_differs\n" : "\n";
  for (std::size_t i = 0; i < r.run.showing.shirts.size(); ++i) {
    const ShirtShowing& s = r.run.showing.shirts[i];
    out += fmt::format("{},{},{},{:.4f},{:.2f},{:.2f},{:.3f},{:.4f}", i + 1, s.gap ? 1 : 0, s.visible ? 1 : 0,
                       s.widest_mm, s.x_mm, s.y_mm, s.length_mm, s.area_mm2);
    if (eye && i < r.seen.seen.size()) {
      const SeenOnShirt& e = r.seen.seen[i];
      out +=
          fmt::format(",{:.3f},{:.2f},{:.2f},{}", e.largest_de00, e.p999_de00, e.area_mm2, e.differs ? 1 : 0);
    } else if (eye) {
      out += ",,,,";  // stopped before the eye came to it
    }
    out += '\n';
  }
  return out;
}

std::string run_text(const RunReport& r) {
  const ShirtRun& run = r.run;
  std::string out = sentence_of(r.scene, run, r.settings) + "\n\n";
  if (r.cancelled)
    out += fmt::format("STOPPED after {} of {} shirts; what follows is of those\n", run.showing.shirts.size(),
                       r.asked);
  out += fmt::format(
      "press      {}, holds +-{:.2f} mm between two plates ({:.3f} mm 1 s.d. each way), seed {}\n",
      r.scene.press.preset.name, run.quoted_mm, run.pair_sigma_mm, r.scene.press.seed);
  if (r.scene.press.bad_pallet) {
    out += fmt::format("           pallet {} of {} is off: 1 shirt in {}\n", r.scene.press.bad_pallet->pallet,
                       r.scene.press.preset.pallets, r.scene.press.preset.pallets);
  }
  out +=
      fmt::format("any gap    on {} of {} shirts, seen or not\n", run.showing.gap.shirts, run.showing.gap.of);
  const auto shirt = [&](const char* label, int i) {
    if (i < 0) return;
    const ShirtShowing& s = run.showing.shirts[static_cast<std::size_t>(i)];
    if (s.widest_mm > 0) {
      out +=
          fmt::format("{:<10} number {}: widest {:.2f} mm at {:.0f},{:.0f} mm; {:.0f} mm of edge seen open\n",
                      label, i + 1, s.widest_mm, s.x_mm, s.y_mm, s.length_mm);
    } else {
      out += fmt::format("{:<10} number {}: nothing opens\n", label, i + 1);
    }
  };
  shirt("typical", run.showing.typical);
  shirt("worst", run.showing.worst);
  out += seen_text(r) + drift_text(r.drift);
  if (!run.kinds.empty()) {
    out += "\nedges that can open           shows       length    least overlap   worst on\n";
    for (std::size_t i = 0; i < std::min<std::size_t>(run.kinds.size(), 8); ++i) {
      const ShowingKind& k = run.kinds[i];
      out += fmt::format("  {:<27} {:<10} {:>7.0f} mm {:>10.2f} mm {:>8} shirt{}\n",
                         k.plate_a + " / " + k.plate_b, k.shows, k.length_mm, k.least_overlap_mm,
                         k.shirts_worst_here, k.shirts_worst_here == 1 ? "" : "s");
    }
  }
  out += "\nif the press held         +- mm   seen on    any gap on\n";
  for (const double f : kCurveSteps) {
    const TolerancePoint p = run.showing.at_factor(f);
    out += fmt::format("                       {:>8.2f} {:>7.1f} % {:>10.1f} %\n", f * run.quoted_mm,
                       100 * p.visible.share, 100 * p.gap.share);
  }
  out += fmt::format(
      "\nseen: colour difference x width / what the eye parts at that distance, over {:.0f} on 2 mm of edge "
      "or\n"
      "more. That {:.0f} is a placeholder without a source: compare a few shirts and judge for yourself.\n"
      "{} edge places found in {:.1f} s, run in {:.1f} s",
      r.settings.visible.threshold, r.settings.visible.threshold, run.edge_pairs, run.searching_s,
      run.running_s);
  if (!r.seen.seen.empty())
    out += fmt::format(", eye {:.1f} s and {:.2f} s a shirt", r.seen.preparing_s,
                       r.seen.looking_s / static_cast<double>(r.seen.seen.size()));
  return out + ".\n";
}

}  // namespace kirtle
