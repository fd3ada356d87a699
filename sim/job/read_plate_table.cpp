#include "job/read_plate_table.h"

#include "plate/io/plate_file.h"

#include <algorithm>
#include <array>
#include <cctype>

namespace kirtle {
namespace fs = std::filesystem;

namespace {

/// Names are used on the command line, as in NAME=50,NAME=20.
bool is_plate_name(const std::string& name) {
  return !name.empty() && name.size() <= 60 && name.front() != ' ' && name.back() != ' ' &&
         std::none_of(name.begin(), name.end(), [](char c) {
           const auto u = static_cast<unsigned char>(c);
           return u < 0x20 || u == 0x7f || c == '=' || c == ',';
         });
}

void check_plate_file(TableReader& t, const Value& v, ScenePlate& plate, const fs::path& folder) {
  if (v.text.empty() || v.text.find('\0') != std::string::npos) {
    t.error(v, t.name("file") + " is " + shown(v) + "; it must be the path of a plate's picture");
    return;
  }
  plate.file = (folder / v.text).lexically_normal();
  std::error_code code;
  const fs::file_status status = fs::status(plate.file, code);
  if (!fs::exists(status)) {
    t.error(v, "there is no plate " + printable(plate.file.string()),
            "check the path; it is seen from the scene's own folder");
  } else if (!fs::is_regular_file(status)) {
    t.error(v, printable(plate.file.string()) + " is not an ordinary file", "name a grey PNG or TIFF");
  }
}

/// PNG holds greys alone, and a grey does not say what is ink.
bool is_surely_grey(const fs::path& file) {
  std::string ending = file.extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return ending == ".png";
}

void read_which_sample(TableReader& t, ScenePlate& plate) {
  plate.page = t.whole("page", 1, kMaxPages).value_or(1);
  const Value* v = t.find("sample");
  if (v == nullptr) return;
  const bool number = v->kind == ValueKind::integer && v->number >= 1 && v->number <= kMaxPlatesOfPage;
  const bool name = v->kind == ValueKind::text && !v->text.empty() && v->text.size() <= 200;
  if (number) plate.sample_number = static_cast<int>(v->number);
  if (name) plate.sample = v->text;
  if (!number && !name) {
    t.error(*v,
            t.name("sample") + " is " + shown(*v) +
                "; it must be the name of an ink in the file, or a number from 1 to " +
                std::to_string(kMaxPlatesOfPage),
            "kirtle plates FILE lists what is in the file");
  }
}

}  // namespace

ScenePlate read_plate_table(TableReader& t, const Scene& scene) {
  ScenePlate plate;
  plate.place = t.place();
  plate.name = t.text("name", Need::required).value_or("");
  if (const Value* v = t.find("name"); v != nullptr && v->kind == ValueKind::text) {
    if (!is_plate_name(plate.name)) {
      t.error(*v, t.name("name") + " is " + shown(*v) +
                      "; it must be 1 to 60 characters without \"=\" or \",\", with no space at either end");
    }
    for (const ScenePlate& other : scene.plates) {
      if (other.name == plate.name)
        t.error(*v, t.name("name") + " is " + shown(*v) + ", which another plate has already");
    }
  }
  t.text("file", Need::required);
  if (const Value* v = t.find("file"); v != nullptr && v->kind == ValueKind::text) {
    check_plate_file(t, *v, plate, scene.file.parent_path());
  }
  read_which_sample(t, plate);
  plate.role =
      t.choice<PlateRole>(
           "role", {{"print", PlateRole::print}, {"shirt", PlateRole::shirt}, {"ignore", PlateRole::ignore}})
          .value_or(PlateRole::print);
  if (!t.has("ink_is") && plate.role == PlateRole::print &&
      (plate.file.empty() || is_surely_grey(plate.file))) {
    t.error_here("\"" + t.name("ink_is") + "\" is missing; it must be one of \"dark\", \"light\"",
                 "\"dark\" if black on the plate prints, as on a film positive; \"light\" if white prints");
  }
  plate.polarity =
      t.choice<Polarity>("ink_is", {{"dark", Polarity::dark_is_ink}, {"light", Polarity::light_is_ink}});
  plate.customer_ink = t.text("customer_ink", Need::optional, 200).value_or("");
  return plate;
}

std::optional<ArtBox> read_art_box(TableReader& root) {
  std::optional<TableReader> t = root.table("art");
  if (!t) return std::nullopt;
  const Value* v = t->find("box", Need::required, "a list of 4 lengths: x, y, width, height");
  std::optional<ArtBox> box;
  if (v != nullptr && (v->kind != ValueKind::list || v->items.size() != 4)) {
    t->error(*v,
             t->name("box") + " is " + shown(*v) + "; it must be a list of 4 lengths: x, y, width, height",
             "write box = [\"10 mm\", \"10 mm\", \"300 mm\", \"350 mm\"], from the plates' top left corner");
  } else if (v != nullptr) {
    std::array<std::optional<double>, 4> mm;
    for (std::size_t i = 0; i < 4; ++i) {
      const Range range = i < 2 ? Range{-5000, 5000} : Range{0, 5000, true};
      mm[i] = t->quantity(v->items[i], t->name("box") + '[' + std::to_string(i) + ']', Measure::length_mm,
                          "mm", range);
    }
    if (mm[0] && mm[1] && mm[2] && mm[3]) box = ArtBox{{*mm[0]}, {*mm[1]}, {*mm[2]}, {*mm[3]}};
  }
  t->finish();
  return box;
}

}  // namespace kirtle
