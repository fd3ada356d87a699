// kirtle compare: the builds of a light and a dark, and which to take. kirtle reshape: the plates for one.
#include "base/replaced_file.h"
#include "cmd/commands.h"
#include "cmd/run_json.h"
#include "cmd/say.h"
#include "cmd/scene_options.h"
#include "compare/compare.h"
#include "compare/decision_page.h"
#include "job/own_files.h"
#include "predict/prediction.h"
#include "press/register_run.h"

#include <filesystem>
#include <fmt/format.h>
#include <memory>
#include <nlohmann/json.hpp>
#include <string_view>

namespace kirtle {

namespace {

constexpr std::string_view kDecisionFiles[] = {"decision.pdf", "decision.png", "compare.json"};

struct CompareArguments {
  SceneArguments scene;
  std::vector<std::string> builds;
  PressArguments press;
  std::string overlap, output, form = "png";
  int shirts = 144;
  unsigned threads = 0;
  bool json = false;
};

std::optional<Mm> overlap_of(const std::string& text) {
  if (text.empty()) return std::nullopt;
  return length_option(text, "--overlap", {0}, {2});
}

std::vector<BuildKind> builds_of(const std::vector<std::string>& ids) {
  std::vector<BuildKind> out;
  for (const std::string& id : ids) {
    const std::optional<BuildKind> kind = build_of_id(id);
    if (!kind) {
      std::string all;
      for (const BuildKind k : all_builds()) all += (all.empty() ? "" : ", ") + std::string(build_id(k));
      throw InputError({}, fmt::format("there is no build \"{}\"", printable(id, 60)),
                       "the builds are: " + all);
    }
    out.push_back(*kind);
  }
  return out;
}

PlateForm form_of(const std::string& word) {
  return word == "tiff"        ? PlateForm::tiff
         : word == "separated" ? PlateForm::separated
         : word == "films"     ? PlateForm::films
                               : PlateForm::png;
}

nlohmann::json to_json(const ComparedBuild& b, const Comparison& c, std::size_t index) {
  const BuildFigures& f = b.figures;
  nlohmann::json j{{"build", build_id(f.kind)},
                   {"overlap_mm", f.overlap.v},
                   {"shows_visibly", to_json(b.run.showing.visible)},
                   {"any_gap", to_json(b.run.showing.gap)},
                   {"holds_mm", finite(b.run.stands_mm)},
                   {"shade_mean_dE00", f.ramp.mean_de00},
                   {"shade_p95_dE00", f.ramp.p95_de00},
                   {"drift_p95_dE00", f.drift_de00},
                   {"picture",
                    {{"printed_mm2", b.picture.printed_mm2},
                     {"off_mm2", b.picture.off_mm2},
                     {"off_share", b.picture.off_share()},
                     {"p95_dE00", b.picture.p95_de00}}},
                   {"bare_cloth_in_tints", f.ramp.bare_share},
                   {"rim_dE00", f.rim_de00},
                   {f.builds_layer ? "ink_build_um" : "wet_load_cm3_m2", f.load},
                   {"limit", f.load_limit},
                   {"two_solids_piled", f.piled},
                   {"screens", f.screens},
                   {"flashes", f.flashes},
                   {"grams", b.grams},
                   {"points_against", f.total},
                   {"refused", refused_text(f)}};
  for (int g = 0; g < kConcerns; ++g)
    j["points"][std::string(concern_name(static_cast<Concern>(g)))] = f.points[g];
  if (index != c.choice.best) j["loses_by"] = concern_name(c.choice.loses_by[index]);
  for (int asked : {5, 10, 25, 50, 75, 90, 95})
    j["steps"].push_back({{"asked", asked}, {"film", 100 * step_table_printed(f.ramp.steps, asked / 100.0)}});
  for (const double factor : {0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0}) {
    const TolerancePoint p = b.run.showing.at_factor(factor);
    j["tolerance"].push_back({{"press_holds_mm", factor * b.run.quoted_mm}, {"visible", to_json(p.visible)}});
  }
  return j;
}

nlohmann::json to_json(const Scene& scene, const Comparison& c) {
  nlohmann::json j{{"kirtle_compare", 1},
                   {"scene", printable(scene.file.string(), 4096)},
                   {"light", printable(c.light, 200)},
                   {"dark", printable(c.dark, 200)},
                   {"take", nullptr},
                   {"sentence", decision_sentence(scene, c)},
                   {"caution", caution_text(c)},
                   {"intent", c.intent_from_art ? "art" : "the dark's own tints over the solid light"},
                   {"pair_sigma_mm", c.pair_sigma.v},
                   {"press_holds_mm", holds_of_sigma(c.pair_sigma).v},
                   {"press_set_by", scene.press.named || scene.press.holds ? "scene" : "assumed"}};
  j[c.choice.none ? "least_bad" : "take"] = build_id(c.builds[c.choice.best].figures.kind);
  const AsTheyStand& now = c.as_they_stand;
  j["as_they_stand"] = {
      {"shows_visibly", to_json(now.run.showing.visible)},
      {"any_gap", to_json(now.run.showing.gap)},
      {"holds_mm", finite(now.run.stands_mm)},
      {c.builds.front().figures.builds_layer ? "ink_build_um" : "wet_load_cm3_m2", now.load},
      {"screens", now.screens},
      {"flashes", now.flashes},
      {"grams", now.grams}};
  for (std::size_t i = 0; i < c.builds.size(); ++i) j["builds"].push_back(to_json(c.builds[i], c, i));
  j["flips"] = nlohmann::json::array();
  for (const Flip& f : c.flips) {
    j["flips"].push_back(
        {{"what", f.what}, {"now", f.now}, {"at", f.at}, {"then", nullptr}, {"because", nullptr}});
    if (f.then) j["flips"].back()["then"] = build_id(*f.then);
    if (f.because) j["flips"].back()["because"] = concern_name(*f.because);
  }
  return j;
}

void print_text(const Scene& scene, const Comparison& c) {
  const BuildFigures& first = c.builds.front().figures;
  const char* unit = first.builds_layer ? "um" : "cm3/m2";
  const std::string caution = caution_text(c);
  say("{}\n{}{}\n", decision_sentence(scene, c), caution, caution.empty() ? "" : "\n");
  say("  build                overlap  shirts showing  widest  shade  drift  other  {:<13} screens flashes  "
      "grams\n",
      first.builds_layer ? "ink build" : "wet load");
  const AsTheyStand& now = c.as_they_stand;
  say("  {:<20}          {:>7} of {:<4} {:>4.2f} mm      -      -      -  {:>4.0f} {:<8} {:>7} {:>7} "
      "{:>6.0f}\n",
      "(as they stand)", now.run.showing.visible.shirts, now.run.showing.visible.of, widest_mm(now.run),
      now.load, unit, now.screens, now.flashes, now.grams);
  for (std::size_t i = 0; i < c.builds.size(); ++i) {
    const ComparedBuild& b = c.builds[i];
    const BuildFigures& f = b.figures;
    say("{} {:<20} {:>4.2f} mm {:>8} of {:<4} {:>4.2f} mm {:>6.1f} {:>6.1f} {:>4.0f} %  {:>4.0f} {:<8} {:>7} "
        "{:>7} "
        "{:>6.0f}{}\n",
        i == c.choice.best && !c.choice.none ? '>' : ' ', build_id(f.kind), f.overlap.v,
        b.run.showing.visible.shirts, b.run.showing.visible.of, widest_mm(b.run), f.ramp.p95_de00,
        f.drift_de00, 100 * b.picture.off_share(), f.load, unit, f.screens, f.flashes, b.grams,
        f.refused.empty() ? "" : "  refused");
  }
  say("\nwhy not\n");
  for (std::size_t i = 0; i < c.builds.size(); ++i) {
    if (i != c.choice.best || c.choice.none)
      say("  {:<20} {}\n", build_id(c.builds[i].figures.kind), reason_sentence(c, i));
  }
  say("\nwhat would flip it\n");
  for (const Flip& f : c.flips) {
    say("  {} {} (now {}): then {}{}\n", f.what, printable(f.at, 80), printable(f.now, 80),
        f.then ? build_id(*f.then) : "none to be recommended",
        f.because ? fmt::format(", because of {}", concern_name(*f.because)) : "");
  }
  if (c.flips.empty()) say("  nothing tried: {}\n", flips_tried());
  say("\nShirts are counted on the plates that each build would have; (as they stand) is what kirtle run "
      "counts.\n"
      "Shade, drift: dE00, 95 % of the tints and of the shirts stay within. Under 1 none sees it, 1 to 2 "
      "side by\n"
      "side only, 2 to 4 it is seen, over 4 refused (common practice, no source). Other: share of the print "
      "that\n"
      "is over 4 from what the plates as they stand print in register. The press holds +-{:.2f} mm ({}).\n"
      "Weights of the choice, ink limits and the visible threshold are placeholders: see docs/model.md.\n",
      holds_of_sigma(c.pair_sigma).v,
      scene.press.named || scene.press.holds ? "as the scene says" : "assumed: the scene does not say");
}

Scene read(const CompareArguments& a) {
  Scene scene = a.scene.read();
  a.press.apply(scene);
  return scene;
}

void compare_command(const CompareArguments& a) {
  const Scene scene = read(a);
  CompareOptions options;
  options.kinds = builds_of(a.builds);
  options.overlap = overlap_of(a.overlap);
  options.shirts = a.shirts;
  options.threads = a.threads;
  options.pictures = !a.output.empty();
  options.progress = terminal_progress("comparing");
  refuse_own_files(own_files(scene), a.output, kDecisionFiles, "the decision is");
  if (!a.output.empty()) make_folder(a.output);
  Diagnostics notes;
  const Prediction arrived(scene, notes);
  print_notes(notes.all());
  const Comparison c = compare_builds(scene, arrived, options);
  if (options.progress) options.progress(1);
  const std::string json = json_text(to_json(scene, c));
  if (!a.output.empty()) {
    const std::filesystem::path folder(a.output);
    const PageDocument page = decision_page(scene, c);
    write_pdf(page, folder / "decision.pdf");
    write_page_png(page.pages.front(), folder / "decision.png", 150, page.title);
    write_file(folder / "compare.json", json + "\n");
  }
  if (a.json) {
    fmt::print("{}\n", json);
  } else {
    print_text(scene, c);
  }
}

void reshape_command(const CompareArguments& a) {
  const Scene scene = read(a);
  const std::vector<BuildKind> kinds = builds_of(a.builds);
  const std::optional<Mm> overlap = overlap_of(a.overlap);
  Diagnostics notes;
  const Prediction arrived(scene, notes);
  print_notes(notes.all());
  const CompareStart start = start_comparing(scene, arrived, overlap, a.threads);
  const BuildFigures figures =
      evaluate_build(scene, arrived.model(), start.roles, start.intent, kinds.front(), start.settings);
  const BuiltPlates built = build_plates(scene, arrived, start.roles, start.body, figures, a.threads);
  write_build(scene, built, a.output, form_of(a.form), a.threads);
  say("{}\nwrote {} plates, changes.txt and scene.toml to {}\n", change_list(scene, built),
      built.images.size(), printable(a.output, 4096));
  if (!figures.refused.empty()) fmt::print(stderr, "warning: {}\n", printable_lines(refused_text(figures)));
}

void add_common(CLI::App& c, CompareArguments& a) {
  a.scene.add_to(c);
  c.add_option(
      "--overlap", a.overlap,
      "Trap and rim, for example \"0.3 mm\" or \"1 pt\"; left out: the smallest that keeps shirts that "
      "show to 1 in 100");
  a.press.add_to(c);
  c.add_option("--threads", a.threads, "Threads to use; the result does not depend on it")
      ->check(CLI::Range(1u, 256u));
}

}  // namespace

void add_compare_command(CLI::App& app) {
  auto a = std::make_shared<CompareArguments>();
  CLI::App* c = app.add_subcommand(
      "compare", "Solid underlay or trapped halftones: the builds of a light and a dark, and which to take");
  add_common(*c, *a);
  c->add_option("--builds", a->builds,
                "Only these: fade, fade-trap, solid-under, solid-under-all, shirt-as-dark, solid-tapering")
      ->delimiter(',');
  c->add_option("--shirts", a->shirts, "Of the order")->check(CLI::Range(1, 100000))->capture_default_str();
  c->add_flag("--json", a->json, "One JSON document");
  c->add_option("-o,--output", a->output, "Folder for decision.pdf, decision.png and compare.json");
  c->footer(
      "Examples:\n"
      "  kirtle compare scenes/moth/scene.toml\n"
      "  kirtle compare scenes/moth/scene.toml --holds \"0.4 mm\" --shirts 300 -o out/moth-decision");
  c->callback([a] { compare_command(*a); });

  auto r = std::make_shared<CompareArguments>();
  CLI::App* s =
      app.add_subcommand("reshape", "The plates of one build, a scene for them and the list of changes");
  add_common(*s, *r);
  s->add_option("--build", r->builds,
                "fade, fade-trap, solid-under, solid-under-all, shirt-as-dark or solid-tapering")
      ->required()
      ->expected(1);
  s->add_option(
       "--as", r->form,
       "png or tiff: a grey a plate; separated: one TIFF with named inks; films: 1-bit at 1200 per inch with "
       "dots, register marks and labels")
      ->check(CLI::IsMember({"png", "tiff", "separated", "films"}))
      ->capture_default_str();
  s->add_option("-o,--output", r->output, "Folder for the plates, scene.toml and changes.txt")->required();
  s->footer(
      "Example:\n"
      "  kirtle reshape scenes/moth/scene.toml --build solid-under --overlap \"0.3 mm\" -o out/moth-solid");
  s->callback([r] { reshape_command(*r); });
}

}  // namespace kirtle
