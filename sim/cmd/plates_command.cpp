// kirtle plates: what is in files, plate by plate.
#include "cmd/commands.h"
#include "cmd/json_text.h"
#include "cmd/say.h"
#include "cmd/scene_options.h"
#include "intake/survey.h"
#include "job/own_files.h"
#include "plate/io/write_picture.h"

#include <fmt/format.h>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>

namespace kirtle {
namespace fs = std::filesystem;

namespace {

constexpr int kPictureSide = 240;

struct PlatesArguments {
  std::vector<std::string> files;
  std::optional<double> ppi;
  std::optional<std::string> ink_is, pictures;
  bool json = false, quick = false;
};

std::string kind_text(const SurveyedPlate& p) {
  const PlateEntry& e = p.entry;
  if (e.kind == SampleKind::spot) return "spot sample: full = no ink";
  if (e.kind == SampleKind::separated) return "separated: 0 = no ink";
  const char* word = p.polarity == Polarity::dark_is_ink ? "dark is ink" : "light is ink";
  const std::string grey = e.composite ? "grey beside spot samples, a preview" : "grey";
  switch (p.polarity_by) {
    case PolarityBy::given:
      return fmt::format("{}: {}", grey, word);
    case PolarityBy::border:
      return fmt::format("{}: {}, guessed from its border", grey, word);
    case PolarityBy::nothing:
      return fmt::format("{}: dark or light is ink? taken as dark", grey);
    case PolarityBy::format:
    case PolarityBy::unread:
      break;
  }
  return fmt::format("{}: the scene says what is ink", grey);
}

std::string depth_text(const PlateEntry& e) {
  return fmt::format("{} bit{}{}", e.bits, e.is_float ? " float" : "", e.bits == 1 ? " (dots already)" : "");
}

std::string size_text(const SurveyedPlate& p) {
  const PlateEntry& e = p.entry;
  if (!(p.ppi > 0))
    return fmt::format("{} x {} px, size not known: it does not say its resolution (--ppi N)", e.width,
                       e.height);
  const double mm = kMmPerInch / p.ppi;
  return fmt::format("{} x {} px, {:.1f} x {:.1f} mm ({:.2f} x {:.2f} in), {:.4g} ppi", e.width, e.height,
                     e.width * mm, e.height * mm, e.width / p.ppi, e.height / p.ppi, p.ppi);
}

std::string thin_text(const char* what, const std::optional<Mm>& width, const PlateSpot& at) {
  if (!width) return {};
  return fmt::format("; {} {:.2f} mm ({:.1f} pt) at {:.0f},{:.0f}", what, width->v, width->v / kMmPerPoint,
                     at.x.v, at.y.v);
}

constexpr Mm kMostOfADot{2};  // what is larger is a shape

std::string holdings_text(const PlateHoldings& h) {
  if (h.empty) return "no ink at all";
  std::string out = fmt::format("{:.1f} % ink (solid {:.1f} %, tints on {:.1f} %)", 100 * h.coverage,
                                100 * h.solid_share, 100 * h.tint_share);
  if (h.lowest_tint)
    out += fmt::format("; tints {:.0f} to {:.0f} %", 100 * *h.lowest_tint, 100 * *h.highest_tint);
  if (h.smallest_dot && *h.smallest_dot < kMostOfADot)
    out += fmt::format("; smallest dot {:.2f} mm at {:.0f},{:.0f}", h.smallest_dot->v, h.smallest_dot_at.x.v,
                       h.smallest_dot_at.y.v);
  out += thin_text("thinnest line", h.thinnest_line, h.thinnest_line_at);
  out += thin_text("gap", h.thinnest_gap, h.thinnest_gap_at);
  return out;
}

std::vector<std::string> warnings_of(const SurveyedPlate& p) {
  std::vector<std::string> out;
  if (!p.holdings) return out;
  if (mostly_ink(p)) {
    out.push_back(
        fmt::format("{:.0f} % of it and {:.0f} % of its border are ink: the shirt's colour, a mask, or the "
                    "wrong way round?",
                    100 * p.holdings->coverage, 100 * p.border_ink));
  } else if (p.holdings->border_inked) {
    out.emplace_back("ink runs to the border: is the art cut off there?");
  }
  return out;
}

void print_text(const Survey& survey) {
  fs::path file;
  for (const SurveyedPlate& p : survey.plates) {
    if (p.entry.file != file) {
      file = p.entry.file;
      say("{}: {} plate{}\n", printable(file.string()), p.in_file, p.in_file == 1 ? "" : "s");
    }
    const std::string page = p.entry.page > 0 ? fmt::format("page {} ", p.entry.page + 1) : "";
    say("  {}{} \"{}\": {}; {}; {}\n", page, p.entry.sample + 1, printable(p.entry.name), size_text(p),
        depth_text(p.entry), kind_text(p));
    if (p.holdings) say("      {}\n", holdings_text(*p.holdings));
    for (const std::string& w : warnings_of(p)) say("      look: {}\n", w);
  }
}

nlohmann::json spot_json(const std::optional<Mm>& size, const PlateSpot& at) {
  if (!size) return nullptr;
  return {{"mm", size->v}, {"x_mm", at.x.v}, {"y_mm", at.y.v}};
}

nlohmann::json to_json(const PlateHoldings& h, bool has_size) {
  nlohmann::json j{{"coverage_percent", 100 * h.coverage},
                   {"solid_percent", 100 * h.solid_share},
                   {"tint_percent", 100 * h.tint_share},
                   {"lowest_tint_percent", nullptr},
                   {"highest_tint_percent", nullptr},
                   {"smallest_dot", spot_json(h.smallest_dot, h.smallest_dot_at)},
                   {"thinnest_line", spot_json(h.thinnest_line, h.thinnest_line_at)},
                   {"thinnest_gap", spot_json(h.thinnest_gap, h.thinnest_gap_at)},
                   {"ink_box_mm", nullptr},
                   {"border_inked", h.border_inked},
                   {"empty", h.empty}};
  if (h.lowest_tint) j["lowest_tint_percent"] = 100 * *h.lowest_tint;
  if (h.highest_tint) j["highest_tint_percent"] = 100 * *h.highest_tint;
  if (has_size && !h.empty) {
    j["ink_box_mm"] = {h.ink_from.x.v, h.ink_from.y.v, h.ink_to.x.v - h.ink_from.x.v,
                       h.ink_to.y.v - h.ink_from.y.v};
  }
  return j;
}

nlohmann::json to_json(const Diagnostics& diagnostics) {
  nlohmann::json j = nlohmann::json::array();
  for (const Diagnostic& d : diagnostics.all())
    j.push_back({{"file", d.place.file}, {"message", d.message}, {"fix", d.remedy}});
  return j;
}

nlohmann::json to_json(const Survey& survey) {
  nlohmann::json plates = nlohmann::json::array();
  for (const SurveyedPlate& p : survey.plates) {
    const PlateEntry& e = p.entry;
    nlohmann::json j{{"file", e.file.string()},
                     {"name", e.name},
                     {"name_in_file", e.name_in_file},
                     {"page", e.page + 1},
                     {"sample", e.sample + 1},
                     {"kind", e.kind == SampleKind::grey   ? "grey"
                              : e.kind == SampleKind::spot ? "spot"
                                                           : "separated"},
                     {"preview", e.composite},
                     {"ink_is", nullptr},
                     {"ink_is_guessed", false},
                     {"width_px", e.width},
                     {"height_px", e.height},
                     {"bits", e.bits},
                     {"float", e.is_float},
                     {"ppi", nullptr},
                     {"width_mm", nullptr},
                     {"height_mm", nullptr},
                     {"holds", nullptr},
                     {"look", warnings_of(p)}};
    if (e.kind == SampleKind::grey && p.polarity_by != PolarityBy::unread) {
      j["ink_is"] = p.polarity == Polarity::dark_is_ink ? "dark" : "light";
      j["ink_is_guessed"] = p.polarity_by != PolarityBy::given;
    }
    if (p.ppi > 0) {
      j["ppi"] = p.ppi;
      j["width_mm"] = e.width / p.ppi * kMmPerInch;
      j["height_mm"] = e.height / p.ppi * kMmPerInch;
    }
    if (p.holdings) j["holds"] = to_json(*p.holdings, p.ppi > 0);
    plates.push_back(std::move(j));
  }
  return {{"kirtle_plates", 1},
          {"plates", std::move(plates)},
          {"notes", to_json(survey.notes)},
          {"faults", to_json(survey.faults)}};
}

/// "set-2-red.png": letters, digits and "-" alone, no two alike.
fs::path picture_name(const PlateEntry& e, std::set<std::string>& taken) {
  std::string text = e.file.stem().string();
  if (e.page > 0) text += fmt::format("-p{}", e.page + 1);
  if (e.name != e.file.stem().string()) text += '-' + e.name;
  std::string name;
  for (const char c : text) {
    const bool plain = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
    name += plain ? c : '-';
  }
  if (name.size() > 100) name.resize(100);
  std::string out = name;
  for (int i = 2; !taken.insert(out).second; ++i) out = fmt::format("{}-{}", name, i);
  return out + ".png";
}

/// One for each plate that has a picture.
std::vector<fs::path> picture_files(const Survey& survey, const fs::path& folder) {
  std::set<std::string> taken;
  std::vector<fs::path> out;
  for (const SurveyedPlate& p : survey.plates)
    if (p.picture.width > 0) out.push_back(folder / picture_name(p.entry, taken));
  return out;
}

void write_pictures(const Survey& survey, const fs::path& folder) {
  std::error_code code;
  fs::create_directories(folder, code);
  if (!fs::is_directory(folder, code)) {
    throw InputError({folder.string(), 0, 0}, "the folder for the pictures is not there and cannot be made",
                     "name another with --pictures");
  }
  const std::vector<fs::path> targets = picture_files(survey, folder);
  auto target = targets.begin();
  for (const SurveyedPlate& p : survey.plates) {
    if (p.picture.width == 0) continue;
    const double ppi = p.ppi > 0 ? p.ppi * p.picture.width / p.entry.width : 0;
    write_grey_png(*target++, p.picture.width, p.picture.height, ppi,
                   std::span<const std::uint8_t>(p.picture.grey));
  }
}

void run_plates(const PlatesArguments& a) {
  SurveySettings settings;
  settings.ppi = a.ppi.value_or(0);
  if (a.ink_is) settings.polarity = *a.ink_is == "dark" ? Polarity::dark_is_ink : Polarity::light_is_ink;
  settings.measure = !a.quick;
  settings.picture_side = a.pictures ? kPictureSide : 0;
  const std::vector<fs::path> files(a.files.begin(), a.files.end());
  const Survey survey = survey_files(files, settings);
  if (a.pictures) refuse_own_files(files, picture_files(survey, *a.pictures), "the pictures are");
  if (a.json) {
    fmt::print("{}\n", json_text(to_json(survey)));
  } else {
    print_text(survey);
  }
  print_notes(survey.notes.all());
  if (a.pictures) write_pictures(survey, *a.pictures);
  survey.faults.throw_if_errors();
}

}  // namespace

void add_plates_command(CLI::App& app) {
  auto a = std::make_shared<PlatesArguments>();
  CLI::App* c = app.add_subcommand("plates", "List the plates in files: size, ink, tones, finest detail");
  c->add_option("FILE", a->files, "PNG or TIFF files")->required();
  c->add_option("--ppi", a->ppi, "Pixels per inch at print size, whatever the files say")
      ->check(within(10, 5000));
  c->add_option("--ink-is", a->ink_is,
                "What prints on greys: dark or light; else it is guessed from the border")
      ->check(CLI::IsMember({"dark", "light"}));
  CLI::Option* pictures = c->add_option("--pictures", a->pictures,
                                        "Write a small picture of each plate into this folder, black = ink");
  c->add_flag("--json", a->json, "One JSON document");
  c->add_flag("--quick", a->quick, "Headers alone: nothing is measured")->excludes(pictures);
  c->footer(
      "Examples:\n"
      "  kirtle plates art/*.png\n"
      "  kirtle plates set.tif --ppi 300 --pictures thumbs\n"
      "  kirtle plates scenes/reef/plates/*.png --json\n"
      "Lines and gaps: the thinnest stretch of 0.5 mm, up to 2 mm wide. A file that cannot be read does not "
      "stop "
      "the others; the exit status is 2 then.");
  c->callback([a] { run_plates(*a); });
}

}  // namespace kirtle
