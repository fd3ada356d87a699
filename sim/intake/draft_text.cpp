// The draft as a scene file with comments.
#include "intake/draft.h"
#include "job/write_document.h"

#include <algorithm>
#include <fmt/format.h>
#include <fmt/ranges.h>

namespace kirtle {
namespace fs = std::filesystem;

namespace {

void line(std::string& out, std::string_view key, const std::string& value, const Guessed& guessed) {
  out += fmt::format("{} = {}", key, value);
  if (!guessed.empty()) out += fmt::format("  # guessed: {}", guessed);
  out += '\n';
}

/// Which of the file's plates, where that needs saying.
void write_sample(std::string& out, const DraftPlate& p, const SceneDraft& draft) {
  const PlateEntry& e = p.survey.entry;
  if (p.survey.in_file == 1) return;
  if (e.page > 0) out += fmt::format("page = {}\n", e.page + 1);
  const auto same = std::count_if(draft.plates.begin(), draft.plates.end(), [&](const DraftPlate& other) {
    const PlateEntry& o = other.survey.entry;
    return o.file == e.file && o.page == e.page && o.name == e.name;
  });
  const bool by_name =
      e.name_in_file && same == 1 && !e.name.empty() && is_utf8(e.name) && e.name.size() <= 200;
  out += fmt::format("sample = {}\n", by_name ? toml_text(e.name) : std::to_string(e.sample + 1));
}

std::string what_it_holds(const DraftPlate& p) {
  std::string out = fmt::format("{:.1f} % ink", 100 * p.coverage);
  if (!p.survey.holdings) return out;
  const PlateHoldings& h = *p.survey.holdings;
  if (h.lowest_tint)
    out += fmt::format(", tints {:.0f} to {:.0f} %", 100 * *h.lowest_tint, 100 * *h.highest_tint);
  return out;
}

void write_plate(std::string& out, const DraftPlate& p, const SceneDraft& draft, const fs::path& folder) {
  out += fmt::format("\n[[plate]]  # {}\n", what_it_holds(p));
  line(out, "name", toml_text(p.name), {});
  line(out, "file", toml_text(path_from(p.survey.entry.file, folder)), {});
  write_sample(out, p, draft);
  if (p.role != PlateRole::print) {
    line(out, "role", p.role == PlateRole::shirt ? "\"shirt\"" : "\"ignore\"", p.role_guessed);
    out += "# If it prints: role = \"print\", and ink = \"...\", mesh = \"...\"";
    out += p.survey.entry.kind == SampleKind::grey ? ", ink_is = \"dark\" or \"light\"\n" : "\n";
    return;
  }
  if (p.survey.entry.kind == SampleKind::grey)
    line(out, "ink_is", p.polarity == Polarity::dark_is_ink ? "\"dark\"" : "\"light\"", p.polarity_guessed);
  line(out, "ink", toml_text(p.ink), p.ink_guessed);
  line(out, "mesh", toml_text(p.mesh),
       p.kind == PlateKind::base ? "open, for a base" : "by what the plate is");
  if (p.flash) line(out, "flash", "true", "the others lie on a dry base");
}

/// The box that holds the ink of every printing plate, as a hint.
void write_art_box(std::string& out, const SceneDraft& draft) {
  if (draft.art_box) {
    const ArtBox& b = *draft.art_box;
    out += fmt::format(
        "\n# What lies outside adds no ink.\n[art]\nbox = [\"{:.6g} mm\", \"{:.6g} mm\", \"{:.6g} mm\", "
        "\"{:.6g} mm\"]\n",
        b.x.v, b.y.v, b.width.v, b.height.v);
    return;
  }
  double x0 = 1e9, y0 = 1e9, x1 = 0, y1 = 0;
  for (const DraftPlate& p : draft.plates) {
    if (p.role != PlateRole::print || !p.survey.holdings || p.survey.holdings->empty) continue;
    x0 = std::min(x0, p.survey.holdings->ink_from.x.v);
    y0 = std::min(y0, p.survey.holdings->ink_from.y.v);
    x1 = std::max(x1, p.survey.holdings->ink_to.x.v);
    y1 = std::max(y1, p.survey.holdings->ink_to.y.v);
  }
  if (!(x1 > x0)) return;
  out += fmt::format(
      "\n# Marks or labels outside the art? Name its box, and they add no ink. All ink now lies within:\n"
      "# [art]\n# box = [\"{:.1f} mm\", \"{:.1f} mm\", \"{:.1f} mm\", \"{:.1f} mm\"]  # x, y, width, "
      "height\n",
      x0, y0, x1 - x0, y1 - y0);
}

}  // namespace

std::string scene_text(const SceneDraft& draft, const fs::path& folder) {
  std::string out =
      "# Drafted by kirtle scene new from the plates' names and what they hold. Look over what says "
      "\"guessed\".\n"
      "# Plates print in the order written. docs/formats.md lists every key.\n"
      "schema = 1\n";
  line(out, "title", toml_text(draft.title), {});
  line(out, "shirt", toml_text(draft.shirt), draft.shirt_guessed ? "say which" : "");
  if (!draft.data.empty()) {
    std::vector<std::string> folders;
    for (const fs::path& f : draft.data) folders.push_back(toml_text(path_from(f, folder)));
    out += fmt::format("data = [{}]\n", fmt::join(folders, ", "));
  }
  if (draft.ppi > 0) line(out, "ppi", fmt::format("{:.6g}", draft.ppi), {});
  if (draft.ppi_missing) out += "# ppi = 300  # pixels per inch at print size: no file says it\n";
  write_art_box(out, draft);
  out += "\n[press]\n";
  // A press that the scene names refuses plates that do not fit it; a guess must not.
  out += fmt::format("{}preset = {}{}\n", draft.press_guessed ? "# " : "", toml_text(draft.press),
                     draft.press_guessed ? "  # guessed: the usual one, taken as long as none is named" : "");
  for (const DraftPlate& p : draft.plates) write_plate(out, p, draft, folder);
  return out;
}

}  // namespace kirtle
