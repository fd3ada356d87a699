// kirtle check: what would make an operator send the plates back.
#include "check/check_scene.h"
#include "cmd/commands.h"
#include "cmd/json_text.h"
#include "cmd/say.h"
#include "cmd/scene_options.h"
#include "job/library.h"
#include "job/read_order.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fmt/format.h>
#include <memory>
#include <nlohmann/json.hpp>

namespace kirtle {

namespace {

/// Exit status when plates would be sent back: neither a failure (1) nor bad input (2).
constexpr int kSentBack = 3;

struct CheckArguments {
  SceneArguments scene;
  std::string order;
  std::optional<double> wet_limit;
  bool all = false, json = false;
};

nlohmann::json to_json(const Scene& scene, const CheckReport& report) {
  nlohmann::json j{{"kirtle_check", 1},          {"scene", scene.file.string()},
                   {"shirt", scene.shirt.id},    {"sent_back", report.sent_back()},
                   {"looked_for", report.kinds}, {"findings", nlohmann::json::array()}};
  for (const Finding& f : report.findings) {
    nlohmann::json one{{"kind", f.kind},           {"severity", to_string(f.severity)},
                       {"plates", f.plates},       {"passes", f.passes},
                       {"what", f.what},           {"number", finite(f.number)},
                       {"limit", finite(f.limit)}, {"unit", f.unit},
                       {"remedy", f.remedy},       {"provenance", f.provenance}};
    one["at_mm"] = f.at ? nlohmann::json{f.at->x.v, f.at->y.v} : nlohmann::json(nullptr);
    j["findings"].push_back(std::move(one));
  }
  return j;
}

const char* heading(FindingSeverity severity) {
  switch (severity) {
    case FindingSeverity::sent_back:
      return "Would be sent back";
    case FindingSeverity::caution:
      return "Look before a screen is coated";
    case FindingSeverity::advice:
      return "Worth a thought";
  }
  return "";
}

/// What is shown as one: the worst of a kind, and the plates of its others.
struct Line {
  const Finding* worst = nullptr;
  std::vector<std::string> also;
};

std::vector<Line> lines_of(const CheckReport& report, bool all) {
  std::vector<Line> lines;
  for (const Finding& f : report.findings) {
    const auto known = std::find_if(lines.begin(), lines.end(), [&](const Line& line) {
      return !all && line.worst->kind == f.kind && line.worst->severity == f.severity;
    });
    if (known == lines.end()) {
      lines.push_back({&f, {}});
    } else {
      known->also.push_back(fmt::format("{}", fmt::join(f.plates, " and ")));
    }
  }
  return lines;
}

void print_text(const Scene& scene, const CheckReport& report, bool all) {
  say("{} on {}: {} plate{}, {:.0f} x {:.0f} mm, {:.4g} pixels per inch\n", scene.title, scene.shirt.name,
      report.plates, report.plates == 1 ? "" : "s", report.width_px / report.ppi * kMmPerInch,
      report.height_px / report.ppi * kMmPerInch, report.ppi);
  if (report.findings.empty()) {
    say("nothing found; {} things were looked for\n", report.kinds);
    return;
  }
  const std::vector<Line> lines = lines_of(report, all);
  const std::size_t shown = all ? lines.size() : std::min(lines.size(), kFindingsShown);
  std::vector<std::string> rules;
  for (std::size_t i = 0; i < shown; ++i) {
    const Finding& f = *lines[i].worst;
    if (i == 0 || lines[i - 1].worst->severity != f.severity) say("\n{}\n", heading(f.severity));
    auto rule = std::find(rules.begin(), rules.end(), f.provenance);
    if (rule == rules.end()) rule = rules.insert(rules.end(), f.provenance);
    say("{:3}  {} [{}]\n", i + 1, f.what, rule - rules.begin() + 1);
    if (!lines[i].also.empty()) say("     the like, less: {}\n", fmt::join(lines[i].also, ", "));
    if (!f.remedy.empty()) say("     fix: {}\n", f.remedy);
  }
  if (shown < report.findings.size()) say("\nand {} more: --all\n", report.findings.size() - shown);
  say("\nplaces are mm from the plates' top left corner, to the right and down\n");
  for (std::size_t i = 0; i < rules.size(); ++i) say("[{}] {}\n", i + 1, rules[i]);
}

/// Sizes and shirts of an order.
void take_order(const CheckArguments& a, const Scene& scene, Diagnostics& faults, CheckSettings& settings) {
  const Order order = read_order(a.order, scene.data_folders);
  print_notes(order.notes, a.json);
  std::vector<std::filesystem::path> folders = order.data;
  folders.insert(folders.end(), scene.data_folders.begin(), scene.data_folders.end());
  Library library(std::move(folders));
  settings.youth_agreed = order.youth_discharge_agreed;
  for (const OrderShirts& shirts : order.shirts) {
    for (const SizeCount& count : shirts.counts)
      settings.youth_sizes = settings.youth_sizes || (is_youth(count.size) && count.shirts > 0);
    if (shirts.shirt.empty()) continue;
    if (const Cloth* cloth = library.shirt(shirts.shirt, shirts.shirt_place, faults))
      settings.more_shirts.push_back(*cloth);
  }
}

void run_check(const CheckArguments& a) {
  const Scene scene = a.scene.read(a.json);
  CheckSettings settings;
  settings.meshes = all_meshes(scene, a.json);
  settings.wet_limit_cm3_m2 = a.wet_limit;
  Diagnostics order_faults;
  if (!a.order.empty()) take_order(a, scene, order_faults, settings);
  order_faults.throw_if_errors();
  const CheckReport report = check_scene(scene, settings);
  print_notes(report.notes.all(), true);
  if (a.json) {
    fmt::print("{}\n", json_text(to_json(scene, report)));
  } else {
    print_text(scene, report, a.all);
  }
  if (report.sent_back()) throw CLI::RuntimeError(kSentBack);
}

}  // namespace

void add_check_command(CLI::App& app) {
  auto a = std::make_shared<CheckArguments>();
  CLI::App* c = app.add_subcommand("check", "What would make an operator send the plates back");
  a->scene.add_to(*c);
  c->add_option("--order", a->order,
                "Order file: its youth sizes and all its shirts are looked at, too (docs/formats.md)");
  c->add_option(
       "--wet-limit", a->wet_limit,
       "Most wet ink of water base and discharge, cm3/m2 (scene: [compare] wet_limit_cm3_m2; else 70)")
      ->check(within(1, 1000));
  c->add_flag("--all", a->all, "Show all findings, not the ten that matter most");
  c->add_flag("--json", a->json, "One JSON document, with all findings");
  c->footer(
      "Exit status: 0 nothing that sends plates back (there may be cautions), 3 the plates would be sent "
      "back,\n"
      "2 the input is wrong, 1 anything else.\n"
      "Examples:\n"
      "  kirtle check scenes/reef/scene.toml\n"
      "  kirtle check scenes/moth/scene.toml --shirt navy-blend\n"
      "  kirtle check scene.toml --order order.toml --wet-limit 60\n"
      "  kirtle check scene.toml --json");
  c->callback([a] { run_check(*a); });
}

}  // namespace kirtle
