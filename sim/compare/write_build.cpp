// Plates of a build to files, with a scene that prints them.
#include "base/check.h"
#include "base/replaced_file.h"
#include "compare/build_plates.h"
#include "job/document.h"
#include "job/own_files.h"
#include "job/write_document.h"
#include "plate/reshape/write_plates.h"
#include "print/film.h"
#include "proof/page_file.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <optional>

namespace kirtle {
namespace fs = std::filesystem;

namespace {

constexpr double kFilmPpi = 1200;

Member* member(Value& table, std::string_view key) {
  const auto it = std::find_if(table.members.begin(), table.members.end(),
                               [key](const Member& m) { return m.key == key; });
  return it == table.members.end() ? nullptr : &*it;
}

Value text_value(std::string text) {
  Value v;
  v.kind = ValueKind::text;
  v.text = std::move(text);
  return v;
}

void set(Value& table, const std::string& key, Value value) {
  if (Member* m = member(table, key)) {
    m->value = std::move(value);
  } else {
    table.members.push_back({key, 0, 0, std::move(value)});
  }
}

std::string text_of(Value& table, std::string_view key) {
  const Member* m = member(table, key);
  return m != nullptr && m->value.kind == ValueKind::text ? m->value.text : std::string();
}

/// What a plate's file is called: its name, without what a file name should not hold.
std::string file_name(const std::string& plate, std::size_t number) {
  std::string out;
  for (const char c : plate) {
    const bool plain =
        (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '_';
    out += plain ? c : '-';
  }
  if (out.size() > 60) out.resize(60);
  return fmt::format("{}-{}", number + 1, out.empty() ? "plate" : out);
}

/// Where a plate of the new set is found.
struct PlateAt {
  std::string plate, file;
  bool named_sample = false;  ///< one ink of several in the file
};

/// The art on films, as their scene's art box.
Value art_box(const FilmArt& art) {
  Value box;
  box.kind = ValueKind::list;
  for (const double mm : {art.x_mm, art.y_mm, art.width_mm, art.height_mm}) {
    Value v;
    v.kind = ValueKind::number;
    v.number = mm;
    box.items.push_back(v);
  }
  Value table;
  table.members.push_back({"box", 0, 0, box});
  return table;
}

Value built_scene(const Scene& original, const BuiltPlates& built, const fs::path& folder,
                  const std::vector<PlateAt>& files, double ppi_of_files, const std::optional<FilmArt>& art) {
  Diagnostics faults;
  std::optional<Document> document = read_document(original.file, faults);
  if (!document) throw InputError(std::move(faults));
  Value root = std::move(document->root);
  const fs::path old_folder = original.file.parent_path();
  set(root, "title",
      text_value(std::string(start_of(original.title, 160)) + ": " + std::string(build_name(built.kind))));
  Value ppi;
  ppi.kind = ValueKind::number;
  ppi.number = ppi_of_files;
  set(root, "ppi", ppi);
  if (Member* data = member(root, "data")) {
    for (Value& v : data->value.items) v.text = path_from(old_folder / v.text, folder);
  }
  if (Member* compare = member(root, "compare")) {
    if (Member* picture = member(compare->value, "art"))
      picture->value.text = path_from(old_folder / picture->value.text, folder);
    if (!prints_dark(built.kind))
      std::erase_if(root.members, [](const Member& m) { return m.key == "compare"; });
  }
  // What lay outside the art box is gone from the plates; films have one of their own.
  std::erase_if(root.members, [](const Member& m) { return m.key == "art"; });
  if (art) set(root, "art", art_box(*art));
  const auto at = [&](const std::string& plate) -> const PlateAt* {
    const auto it =
        std::find_if(files.begin(), files.end(), [&](const PlateAt& f) { return f.plate == plate; });
    return it == files.end() ? nullptr : &*it;
  };
  if (Member* plates = member(root, "plate")) {
    std::erase_if(plates->value.items, [&](Value& v) { return at(text_of(v, "name")) == nullptr; });
    for (Value& v : plates->value.items) {
      const PlateAt& file = *at(text_of(v, "name"));
      std::erase_if(v.members, [](const Member& m) {
        return m.key == "page" || m.key == "sample" || m.key == "ink_is";
      });
      set(v, "file", text_value(file.file));
      if (file.named_sample)
        set(v, "sample", text_value(file.plate));
      else
        set(v, "ink_is", text_value("dark"));
    }
  }
  // Without [[pass]] what a pass says stands in its [[plate]].
  Member* passes = member(root, "pass");
  if (passes != nullptr)
    std::erase_if(passes->value.items, [&](Value& v) { return at(text_of(v, "plate")) == nullptr; });
  if (Member* of = passes != nullptr ? passes : member(root, "plate")) {
    for (Value& v : of->value.items) {
      if (!built.compensated.empty() && text_of(v, passes != nullptr ? "plate" : "name") == built.compensated)
        set(v, "curve_on_film", text_value("plates"));
    }
  }
  return root;
}

/// The label set on a page of its own and turned into ink or none.
FilmLabel film_label(const std::vector<std::string>& lines, double room_mm) {
  constexpr double kLine = 3.2;
  const double wide = std::max(20.0, std::min(110.0, room_mm));
  Page page(wide, std::max(20.0, kLine * static_cast<double>(lines.size()) + 1));
  TextStyle style;
  style.size_pt = 7;
  style.least_pt = 5;
  style.wrap = false;
  for (std::size_t i = 0; i < lines.size(); ++i)
    page.text(fmt::format("line {}", i + 1), {0.5, 0.5 + kLine * static_cast<double>(i), wide - 1, kLine},
              lines[i], style);
  const PagePicture picture = page_pixels(page, kFilmPpi);
  FilmLabel label;
  label.width = picture.width;
  label.height = std::min(
      picture.height,
      static_cast<int>(std::ceil((kLine * static_cast<double>(lines.size()) + 1) / kMmPerInch * kFilmPpi)));
  for (std::size_t i = 0; i < static_cast<std::size_t>(label.width) * label.height; ++i)
    label.ink.push_back(picture.rgba[4 * i + 1] < 128 ? 1 : 0);
  return label;
}

bool has_tints(const PlateImage& plate) {
  // Anything that is neither none nor solid over two pixels side by side.
  const int low = plate.max() / 20, high = plate.max() - low;
  const auto code = [&](std::size_t i) { return plate.bits == 8 ? int{plate.ink8[i]} : int{plate.ink16[i]}; };
  std::size_t run = 0;
  for (std::size_t i = 0; i < plate.pixels(); ++i) {
    run = code(i) > low && code(i) < high ? run + 1 : 0;
    if (run > 8) return true;
  }
  return false;
}

FilmArt write_films(const BuiltPlates& built, const std::vector<PrintingPlate>& plates,
                    const fs::path& folder, const std::vector<PlateAt>& files, unsigned threads) {
  FilmArt art;
  for (std::size_t i = 0; i < plates.size(); ++i) {
    const ScenePass& pass = first_pass_of(built.scene, plates[i].scene_plate);
    FilmSettings settings;
    settings.device_ppi = kFilmPpi;
    settings.halftone = pass.halftone;
    settings.margin = {26};  // room for the label below the mark
    settings.note = "film positive, black prints";
    art = film_art(built.images[i], built.ppi, settings);
    settings.label = film_label(film_label_lines({plates[i].name, pass.ink.name, pass.mesh.id, pass.halftone,
                                                  has_tints(built.images[i]), pass.curve},
                                                 art),
                                art.width_mm + settings.margin.v - 1);
    art = write_film(folder / files[i].file, built.images[i], built.ppi, settings, threads);
  }
  return art;
}

}  // namespace

void write_build(const Scene& original, const BuiltPlates& built, const fs::path& folder, PlateForm form,
                 unsigned threads) {
  make_folder(folder);
  std::error_code failed;
  const fs::path own = original.file.parent_path().empty() ? fs::path(".") : original.file.parent_path();
  if (fs::equivalent(folder, own, failed))
    throw InputError({folder.string(), 0, 0}, "this is the scene's own folder",
                     "name another, so that the plates that arrived stay as they are");
  const std::vector<PrintingPlate> plates = printing_plates(built.scene);
  KIRTLE_CHECK(plates.size(), ==, built.images.size());
  const std::string note = "film positive, black prints; " + std::string(build_name(built.kind));
  std::vector<PlateAt> files;
  std::optional<FilmArt> art;
  for (std::size_t i = 0; i < plates.size(); ++i) {
    const char* ending = form == PlateForm::tiff ? ".tif" : ".png";
    files.push_back({plates[i].name,
                     form == PlateForm::separated ? "plates.tif" : file_name(plates[i].name, i) + ending,
                     form == PlateForm::separated});
  }
  std::vector<fs::path> targets{folder / "changes.txt", folder / "scene.toml"};
  for (const PlateAt& file : files) targets.push_back(folder / file.file);
  refuse_own_files(own_files(original), targets, "the plates are");
  if (form == PlateForm::png || form == PlateForm::tiff) {
    for (std::size_t i = 0; i < plates.size(); ++i)
      write_grey_plate(folder / files[i].file, built.images[i], built.ppi, note, threads);
  }
  if (form == PlateForm::separated)
    write_separated_tiff(folder / "plates.tif", built.images, built.ppi, note, threads);
  if (form == PlateForm::films) art = write_films(built, plates, folder, files, threads);
  write_file(folder / "changes.txt", change_list(original, built));
  const double ppi = form == PlateForm::films ? kFilmPpi : built.ppi;
  write_file(folder / "scene.toml", "# Written by kirtle reshape; see changes.txt\n" +
                                        document_text(built_scene(original, built, folder, files, ppi, art)));
}

}  // namespace kirtle
