// kirtle run: an order of shirts on a press that never lands twice the same.
#include "base/replaced_file.h"
#include "cmd/commands.h"
#include "cmd/scene_options.h"
#include "job/press_plan.h"
#include "job/quantity.h"
#include "predict/picture.h"
#include "predict/shirt_run.h"

#include <cmath>
#include <csignal>
#include <filesystem>
#include <fmt/format.h>
#include <memory>
#include <nlohmann/json.hpp>

namespace kirtle {

namespace {

struct Arguments {
  SceneArguments scene;
  std::string holds, distance = "600 mm", output;
  int shirts = 144;
  std::optional<std::uint64_t> seed;
  unsigned threads = 0;
  bool json = false;
};

volatile std::sig_atomic_t interrupted = 0;
void on_interrupt(int) { interrupted = 1; }

Mm length_of(const std::string& text, const char* option) {
  const std::optional<double> mm = quantity_from(text, Measure::length_mm);
  if (!mm || !(*mm > 0)) {
    throw InputError({}, fmt::format("{} \"{}\" is not a length above 0", option, printable(text)),
                     fmt::format("write it with a unit, for example {}", example_of(Measure::length_mm)));
  }
  return {*mm};
}

nlohmann::json to_json(const ShirtShare& s) {
  return {{"shirts", s.shirts}, {"of", s.of}, {"share", s.share}, {"low", s.low}, {"high", s.high}};
}

/// JSON has no infinity: null says "never".
nlohmann::json finite(double v) { return std::isfinite(v) ? nlohmann::json(v) : nlohmann::json(nullptr); }

constexpr double kCurveSteps[] = {0.25, 0.5, 0.75, 1, 1.25, 1.5, 2, 2.5, 3, 4};

/// A shirt of the run, printed and looked at.
struct ShownShirt {
  int number = 0;  ///< from 1
  SeenOnShirt seen;
};

nlohmann::json to_json(const Scene& scene, const ShirtRun& run, const ShirtRunSettings& settings,
                       const std::vector<ShownShirt>& shown) {
  nlohmann::json j;
  j["kirtle_run"] = 1;
  j["scene"] = printable(scene.file.string(), 4096);
  j["press"] = scene.press.preset.id;
  j["pair_sigma_mm"] = run.pair_sigma_mm;
  j["press_holds_mm"] = run.quoted_mm;
  j["seed"] = scene.press.seed;
  j["distance_mm"] = settings.visible.distance.v;
  j["cancelled"] = run.showing.cancelled;
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
  for (const ShownShirt& s : shown) {
    j["seen"].push_back({{"shirt", s.number},
                         {"largest_dE00", s.seen.largest_de00},
                         {"p999_dE00", s.seen.p999_de00},
                         {"area_over_2_mm2", s.seen.area_over_2_mm2}});
  }
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
  return j;
}

/// Defects against tolerance as a drawing.
std::string curve_svg(const ShirtRun& run) {
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
    std::string path = fmt::format("M{:.1f} {:.1f}", x(0), y(run.showing.at_factor(1e-9).visible.share));
    for (int i = 1; i <= 80; ++i) {
      const TolerancePoint p = run.showing.at_factor(4.0 * i / 80);
      path += fmt::format("L{:.1f} {:.1f}", x(widest * i / 80), y(visible ? p.visible.share : p.gap.share));
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

void write_text(const std::filesystem::path& target, const std::string& text) {
  ReplacedFile file(target);
  file.write(text);
  file.commit();
}

std::string shirts_csv(const ShirtRun& run) {
  std::string out = "shirt,any_gap,visible,widest_mm,x_mm,y_mm,visible_length_mm,visible_area_mm2\n";
  for (std::size_t i = 0; i < run.showing.shirts.size(); ++i) {
    const ShirtShowing& s = run.showing.shirts[i];
    out += fmt::format("{},{},{},{:.4f},{:.2f},{:.2f},{:.3f},{:.4f}\n", i + 1, s.gap ? 1 : 0,
                       s.visible ? 1 : 0, s.widest_mm, s.x_mm, s.y_mm, s.length_mm, s.area_mm2);
  }
  return out;
}

void print_text(const Scene& scene, const ShirtRun& run, const ShirtRunSettings& settings,
                const std::vector<ShownShirt>& shown) {
  fmt::print("{}\n\n", sentence_of(scene, run, settings));
  fmt::print("press      {} (pair of plates +-{:.2f} mm, {:.3f} mm 1 s.d. each way), seed {}\n",
             scene.press.preset.name, run.quoted_mm, run.pair_sigma_mm, scene.press.seed);
  fmt::print("any gap    on {} of {} shirts, seen or not\n", run.showing.gap.shirts, run.showing.gap.of);
  const auto shirt = [&](const char* label, int i) {
    if (i < 0) return;
    const ShirtShowing& s = run.showing.shirts[static_cast<std::size_t>(i)];
    if (s.widest_mm > 0) {
      fmt::print("{:<10} number {}: widest {:.2f} mm at {:.0f},{:.0f} mm; {:.0f} mm of edge seen open\n",
                 label, i + 1, s.widest_mm, s.x_mm, s.y_mm, s.length_mm);
    } else {
      fmt::print("{:<10} number {}: nothing opens\n", label, i + 1);
    }
  };
  shirt("typical", run.showing.typical);
  shirt("worst", run.showing.worst);
  for (const ShownShirt& s : shown) {
    fmt::print(
        "shirt {:<4} against the print in register, as the eye has it: dE00 up to {:.1f}, {:.0f} mm2 over "
        "2\n",
        s.number, s.seen.largest_de00, s.seen.area_over_2_mm2);
  }
  fmt::print("\nedges that can open           shows       length    least overlap   worst on\n");
  for (std::size_t i = 0; i < std::min<std::size_t>(run.kinds.size(), 8); ++i) {
    const ShowingKind& k = run.kinds[i];
    fmt::print("  {:<27} {:<10} {:>7.0f} mm {:>10.2f} mm {:>8} shirts\n", k.plate_a + " / " + k.plate_b,
               k.shows, k.length_mm, k.least_overlap_mm, k.shirts_worst_here);
  }
  fmt::print("\nif the press held         +- mm   seen on    any gap on\n");
  for (const double f : kCurveSteps) {
    const TolerancePoint p = run.showing.at_factor(f);
    fmt::print("                       {:>8.2f} {:>7.1f} % {:>10.1f} %\n", f * run.quoted_mm,
               100 * p.visible.share, 100 * p.gap.share);
  }
  fmt::print(
      "\nseen: dE00 x width / one minute of arc over {:.0f} (a placeholder, no source). {} edge places, "
      "found in {:.1f} s,\n"
      "run in {:.1f} s.\n",
      settings.visible.threshold, run.edge_pairs, run.searching_s, run.running_s);
}

void run_command(const Arguments& a) {
  Scene scene = a.scene.read();
  if (a.seed) scene.press.seed = *a.seed;
  if (!a.holds.empty()) scene.press.holds = length_of(a.holds, "--holds");
  ShirtRunSettings settings;
  settings.shirts = a.shirts;
  settings.threads = a.threads;
  settings.visible.distance = length_of(a.distance, "--distance");
  std::signal(SIGINT, on_interrupt);
  settings.progress = [](double) { return interrupted == 0; };
  Diagnostics notes;
  const Prediction prediction(scene, notes);
  print_notes(notes.all());
  const RegisterRun press(register_model(scene));
  const ShirtRun run = run_shirts(scene, prediction, press, settings);
  if (run.showing.cancelled)
    fmt::print(stderr, "stopped after {} shirts; these are kept\n", run.showing.shirts.size());
  const std::filesystem::path folder(a.output);
  if (!a.output.empty()) {
    std::error_code failed;
    std::filesystem::create_directories(folder, failed);
    if (failed) {
      throw InputError({a.output, 0, 0}, "cannot make this folder: " + failed.message(),
                       "name a folder where you may write");
    }
  }
  std::vector<ShownShirt> shown;
  const auto show = [&](int index, const char* file) {
    if (index < 0) return;
    const Scene moved = scene_on_shirt(scene, press, static_cast<std::uint32_t>(index) + 1);
    Diagnostics again;
    const Prediction shirt(moved, again);
    shown.push_back({index + 1, seen_on_shirt(prediction, shirt, settings.visible.distance, a.threads)});
    if (a.output.empty()) return;
    PictureSettings picture;
    picture.threads = a.threads;
    write_print(moved, shirt, folder / file, picture);
  };
  show(run.showing.typical, "typical.png");
  show(run.showing.worst, "worst.png");
  if (!a.output.empty()) {
    write_text(folder / "run.json", to_json(scene, run, settings, shown).dump(2) + "\n");
    write_text(folder / "shirts.csv", shirts_csv(run));
    write_text(folder / "tolerance.svg", curve_svg(run));
  }
  if (a.json) {
    fmt::print("{}\n", to_json(scene, run, settings, shown).dump(2));
  } else {
    print_text(scene, run, settings, shown);
  }
}

}  // namespace

void add_run_command(CLI::App& app) {
  auto a = std::make_shared<Arguments>();
  CLI::App* c = app.add_subcommand("run", "An order of shirts: on how many the shirt shows, where, how wide");
  a->scene.add_to(*c);
  c->add_option("--shirts", a->shirts, "How many")->check(CLI::Range(1, 100000))->capture_default_str();
  c->add_option("--holds", a->holds,
                "The press holds plus-minus this, for example \"0.25 mm\" or \"1/64 in\" (scene: [press])");
  c->add_option("--distance", a->distance, "From the eye to the shirt")->capture_default_str();
  c->add_option("--seed", a->seed, "Another run of the same press");
  c->add_option("--threads", a->threads, "Threads to use; the result does not depend on it")
      ->check(CLI::Range(1u, 256u));
  c->add_option("-o,--output", a->output,
                "Folder for run.json, shirts.csv, tolerance.svg, typical.png and worst.png");
  c->add_flag("--json", a->json, "One JSON document");
  c->footer(
      "Examples:\n"
      "  kirtle run scenes/moth/scene.toml --shirts 144\n"
      "  kirtle run scenes/moth/scene.toml --shirts 500 --holds \"0.4 mm\" -o out/moth-run\n"
      "Interrupt (Ctrl-C) keeps the shirts done so far.");
  c->callback([a] { run_command(*a); });
}

}  // namespace kirtle
