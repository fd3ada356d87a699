// kirtle range: designs on many shirts, in the ways in which a shop would try them.
#include "base/replaced_file.h"
#include "cmd/commands.h"
#include "cmd/say.h"
#include "cmd/scene_options.h"
#include "job/own_files.h"
#include "range/contact_sheet.h"
#include "range/range.h"

#include <cstdio>
#include <filesystem>
#include <fmt/format.h>
#include <memory>
#include <set>
#include <string_view>

namespace kirtle {

namespace {

constexpr double kSheetDpi = 150;
constexpr std::string_view kRangeFiles[] = {"range.pdf", "range.png", "range.csv", "range.json"};

struct RangeArguments {
  std::vector<std::string> scenes, data, shirts, merge;
  std::string shirts_file, output, shard;
  std::optional<std::string> light;
  std::optional<double> ppi;
  unsigned threads = 0;
  bool json = false, quiet = false;
};

std::vector<Scene> read_scenes(const RangeArguments& a) {
  std::vector<Scene> out;
  Diagnostics faults;
  std::set<std::filesystem::path> seen;
  for (const std::string& file : a.scenes) {
    std::error_code code;
    const std::filesystem::path whole = std::filesystem::weakly_canonical(file, code);
    if (!seen.insert(code ? std::filesystem::path(file) : whole).second) {
      faults.error({file, 0, 0}, "this scene is named twice", "name it once");
      continue;
    }
    SceneArguments one;
    one.scene = file;
    one.light = a.light;
    one.ppi = a.ppi;
    one.data = a.data;
    try {
      out.push_back(one.read(a.quiet));
    } catch (const InputError& e) {
      faults.append_new(e.diagnostics());
    }
  }
  faults.throw_if_errors();
  return out;
}

RangeOptions options_of(const RangeArguments& a) {
  RangeOptions out;
  out.shirts = a.shirts;
  if (!a.shirts_file.empty()) {
    if (!a.shirts.empty())
      throw InputError({}, "--shirts and --shirts-file are both given", "give one of them");
    out.shirts = read_shirt_list(a.shirts_file);
  }
  out.folder = a.output;
  out.merge.assign(a.merge.begin(), a.merge.end());
  if (!a.shard.empty()) out.shard = shard_from(a.shard);
  out.version = KIRTLE_VERSION;
  out.threads = a.threads;
  return out;
}

void print_text(const std::vector<Scene>& scenes, const RangeResult& result) {
  for (std::size_t s = 0; s < scenes.size(); ++s) {
    say("{}{}, made for {}\n", s > 0 ? "\n" : "", printable(scenes[s].title),
        printable(scenes[s].shirt.name));
    say("{:<30} {:<14} {:<38} {:>5} {:>6}  {}\n", "shirt", "", "take", "off", "95 %", "new screens");
    for (const RangeItem& item : result.items) {
      if (item.scene != s) continue;
      const RangeLine& line = best_line(item);
      const bool none = line.figures.verdict == RangeVerdict::no;
      say("{:<30} {:<14} {:<38} {:>5.1f} {:>6.1f}  {}\n", printable(item.shirt_name, 30),
          to_string(line.figures.verdict), none ? "-" : printable(line.called, 38),
          line.figures.difference_mean, line.figures.difference_p95,
          none ? "-" : std::to_string(line.new_screens));
    }
  }
  say("\noff: mean CIEDE2000 to the design on its own shirt, over the inked area; under 1 none to see, over "
      "4 another "
      "colour (common practice). Test print each shirt and dye lot.\n");
}

void write_folder(const std::vector<Scene>& scenes, const RangeResult& result,
                  const std::filesystem::path& folder, const std::string& json) {
  const ContactSheet sheet = contact_sheet(scenes, result);
  write_pdf(sheet.document, folder / "range.pdf");
  write_page_png(sheet.document.pages[sheet.first_pictures], folder / "range.png", kSheetDpi,
                 sheet.document.title);
  write_file(folder / "range.csv", range_csv(scenes, result));
  write_file(folder / "range.json", json);
}

void range_command(const RangeArguments& a) {
  RangeOptions options = options_of(a);
  const std::vector<Scene> scenes = read_scenes(a);
  std::vector<std::filesystem::path> own;
  if (!a.shirts_file.empty()) own.emplace_back(a.shirts_file);
  for (const Scene& scene : scenes)
    for (std::filesystem::path& file : own_files(scene)) own.push_back(std::move(file));
  refuse_own_files(own, a.output, kRangeFiles, "the range is");
  catch_interrupt();
  options.progress = stoppable_progress("shirts", a.quiet);
  RangeResult result;
  try {
    result = run_range(scenes, options);
  } catch (const Cancelled&) {
    fmt::print(stderr, "stopped; {}\n",
               a.output.empty() ? "nothing was kept: -o FOLDER keeps what is finished"
                                : "finished shirts are kept, and the same call goes on from there");
    throw;
  }
  print_notes(result.notes.all(), a.quiet);
  if (options.shard) {
    if (!a.quiet)
      say("shard {}: {} of its {} shirts worked out now, the others before; in {}\n", a.shard,
          result.worked_out, result.items.size(), printable(a.output, 4096));
    return;
  }
  const std::string json = range_json(scenes, result);
  if (!a.output.empty()) write_folder(scenes, result, a.output, json);
  if (a.json) {
    fmt::print("{}", json);
  } else {
    print_text(scenes, result);
  }
}

}  // namespace

void add_range_command(CLI::App& app) {
  auto a = std::make_shared<RangeArguments>();
  CLI::App* c = app.add_subcommand(
      "range",
      "Designs on many shirts: as they are, without base, on a base, the shirt as a shade, inks swapped");
  c->add_option("SCENE", a->scenes, "Scene files (docs/formats.md)")->required();
  c->add_option("--shirts", a->shirts, "Ids, with commas between; left out: every shirt known")
      ->delimiter(',')
      ->allow_extra_args(false);
  c->add_option("--shirts-file", a->shirts_file, "The same from a file, one id a line");
  c->add_option(
      "-o,--output", a->output,
      "Folder for range.pdf, range.png, range.csv and range.json, and for what is finished (done/)");
  c->add_option("--shard", a->shard,
                "I/N: work out every Nth shirt from the Ith on, no more; put together later");
  c->add_option("--merge", a->merge, "Folders of other calls, whose finished shirts are taken over");
  c->add_option("--light", a->light, "Light to see it under (scene: [view] light)");
  c->add_option("--ppi", a->ppi, "Pixels per inch of the plates, if they do not say (scene: ppi)")
      ->check(within(10, 5000));
  c->add_option("--data", a->data, "Further folder of inks, shirts, meshes; may be given more than once")
      ->allow_extra_args(false);
  c->add_option("--threads", a->threads, "Threads to use; the result does not depend on it")
      ->check(CLI::Range(1u, 256u));
  c->add_flag("--json", a->json, "One JSON document");
  c->add_flag("--quiet", a->quiet, "No progress, no notes: results, errors and warnings alone");
  c->footer(
      "Examples:\n"
      "  kirtle range scenes/moth/scene.toml -o out/moth-range\n"
      "  kirtle range scenes/*/scene.toml --shirts black-cotton,navy-cotton,royal-cotton -o out/three\n"
      "  kirtle range scenes/moth/scene.toml --shard 1/4 -o out/shared     the first of four jobs\n"
      "Ctrl-C keeps the shirts that are finished; the exit status is 130, and the same call goes on from "
      "there.");
  c->callback([a] { range_command(*a); });
}

}  // namespace kirtle
