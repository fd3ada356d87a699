// kirtle scene new: a scene from what the art department exported.
#include "base/replaced_file.h"
#include "cmd/commands.h"
#include "cmd/say.h"
#include "cmd/scene_options.h"
#include "intake/draft.h"
#include "job/own_files.h"
#include "job/quantity.h"

#include <algorithm>
#include <fmt/format.h>
#include <memory>
#include <optional>
#include <span>

namespace kirtle {
namespace fs = std::filesystem;

namespace {

struct NewSceneArguments {
  std::string folder;
  std::vector<std::string> files, inks, box, data;
  std::optional<std::string> shirt, press, ink_is;
  std::optional<double> ppi;
  bool replace = false;
};

std::vector<std::pair<std::string, std::string>> inks_from(const std::vector<std::string>& texts) {
  std::vector<std::pair<std::string, std::string>> out;
  for (const std::string& text : texts) {
    const std::size_t at = text.rfind('=');
    if (at == std::string::npos || at == 0 || at + 1 == text.size()) {
      throw InputError({}, fmt::format("--ink \"{}\" is not PLATE=INK", printable(text)),
                       "write --ink red=scarlet,base=base-white (kirtle inks lists the inks)");
    }
    out.emplace_back(text.substr(0, at), text.substr(at + 1));
  }
  return out;
}

std::optional<ArtBox> box_from(const std::vector<std::string>& texts) {
  if (texts.empty()) return std::nullopt;
  std::vector<double> mm;
  for (const std::string& text : texts) {
    std::optional<double> x = quantity_from(text, Measure::length_mm);
    if (!x) x = quantity_from(text + " mm", Measure::length_mm);
    if (x) mm.push_back(*x);
  }
  const bool fits = texts.size() == 4 && mm.size() == 4 &&
                    std::all_of(mm.begin(), mm.end(), [](double x) { return x >= -5000 && x <= 5000; });
  if (!fits || !(mm[2] > 0) || !(mm[3] > 0)) {
    throw InputError(
        {}, "--box is not x,y,width,height of the art",
        "write --box 10,10,300,350 (mm from the plates' top left corner) or --box \"1 in,1 in,12 in,14 in\"");
  }
  return ArtBox{{mm[0]}, {mm[1]}, {mm[2]}, {mm[3]}};
}

/// A line of text broken at 100 characters, further lines set in.
std::string wrapped(const std::string& text, std::size_t inset) {
  std::string out;
  std::size_t column = inset;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t space = std::min(text.find(' ', at), text.size());
    if (column + (space - at) > 100 && column > inset) {
      out += '\n' + std::string(inset, ' ');
      column = inset;
    } else if (at > 0) {
      out += ' ';
      ++column;
    }
    out += text.substr(at, space - at);
    column += space - at;
    at = space + 1;
  }
  return out;
}

void check_target(const fs::path& scene, bool replace) {
  std::error_code code;
  if (!fs::exists(fs::symlink_status(scene, code)) || replace) return;
  throw InputError({scene.string(), 0, 0}, "there is a scene already; it was left as it is",
                   "name another folder, or give --replace to write over it");
}

void run_scene_new(const NewSceneArguments& a) {
  const fs::path folder = a.folder, target = folder / "scene.toml";
  check_target(target, a.replace);
  const std::vector<fs::path> files(a.files.begin(), a.files.end());
  refuse_own_files(files, std::span(&target, 1), "the scene is");
  DraftWishes wishes;
  wishes.shirt = a.shirt;
  wishes.press = a.press;
  wishes.ppi = a.ppi;
  wishes.inks = inks_from(a.inks);
  wishes.art_box = box_from(a.box);
  SurveySettings settings;
  settings.ppi = a.ppi.value_or(0);
  if (a.ink_is) settings.polarity = *a.ink_is == "dark" ? Polarity::dark_is_ink : Polarity::light_is_ink;
  Diagnostics faults;
  Library library = load_library({a.data.begin(), a.data.end()}, faults);
  faults.throw_if_errors();
  const Survey survey = survey_files(files, settings);
  print_notes(survey.notes.all());
  survey.faults.throw_if_errors();
  std::string title = fs::absolute(folder).lexically_normal().filename().string();
  if (title.empty()) title = fs::absolute(folder).lexically_normal().parent_path().filename().string();
  if (title.empty() || title.size() > 200 || !is_utf8(title)) title = "Untitled";
  SceneDraft draft = draft_scene(survey, wishes, library, title);
  draft.data.assign(a.data.begin(), a.data.end());

  std::error_code code;
  fs::create_directories(folder, code);
  if (!fs::is_directory(folder, code)) {
    throw InputError({folder.string(), 0, 0}, "the folder for the scene is not there and cannot be made",
                     "name another");
  }
  write_file(target, scene_text(draft, folder));

  const auto printing = std::count_if(draft.plates.begin(), draft.plates.end(),
                                      [](const DraftPlate& p) { return p.role == PlateRole::print; });
  say("{}: {} plate{}, {} of them printing\n", printable(target.string()), draft.plates.size(),
      draft.plates.size() == 1 ? "" : "s", printing);
  say("\nAssumed\n");
  for (const std::string& line : draft.assumed) say("  - {}\n", wrapped(line, 4));
  say("\nPlease say (each names what to change in {})\n", printable(target.string()));
  int number = 0;
  for (const DraftQuestion& q : draft.questions)
    say(" {:>2}. {}\n     -> {}\n", ++number, wrapped(q.ask, 5), wrapped(q.change, 8));
  say("\nThen: kirtle predict {} -o print.png\n", printable(target.string()));
}

}  // namespace

void add_scene_command(CLI::App& app) {
  auto a = std::make_shared<NewSceneArguments>();
  CLI::App* scene = app.add_subcommand("scene", "Start a scene from exported plates");
  scene->require_subcommand(1);
  CLI::App* c = scene->add_subcommand(
      "new", "Read plates, guess what they are, write DIR/scene.toml, ask what is unclear");
  c->add_option("DIR", a->folder, "Folder for scene.toml; made if need be. The plates stay where they are")
      ->required();
  c->add_option("FILE", a->files, "PNG or TIFF files of one print")->required();
  c->add_option("--shirt", a->shirt, "Shirt, by id (kirtle shirts lists them)");
  c->add_option("--ppi", a->ppi, "Pixels per inch at print size, whatever the files say")
      ->check(within(10, 5000));
  c->add_option("--press", a->press, "Press preset, by id");
  c->add_option("--ink-is", a->ink_is, "What prints on greys: dark or light")
      ->check(CLI::IsMember({"dark", "light"}));
  c->add_option("--ink", a->inks, "PLATE=INK, comma between: ink ids where the plates' names do not tell")
      ->delimiter(',')
      ->allow_extra_args(false);
  c->add_option("--box", a->box,
                "x,y,width,height of the art in mm or with units; what lies outside adds no ink")
      ->delimiter(',')
      ->allow_extra_args(false);
  c->add_option("--data", a->data, "Further folder of inks, shirts, meshes; may be given more than once")
      ->allow_extra_args(false);
  c->add_flag("--replace", a->replace, "Write over a scene that is there");
  c->footer(
      "Examples:\n"
      "  kirtle scene new team art/*.png --shirt black-cotton\n"
      "  kirtle scene new team set.tif --ppi 300 --ink \"Spot 1=scarlet,Spot 2=royal-blue\"\n"
      "Guesses are marked in the scene and listed, questions numbered. A plate that is nearly all ink does "
      "not print "
      "until you say so.");
  c->callback([a] { run_scene_new(*a); });
}

}  // namespace kirtle
