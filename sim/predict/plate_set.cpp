#include "predict/plate_set.h"

#include "base/check.h"
#include "base/parallel.h"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <fmt/format.h>
#include <map>
#include <optional>

namespace kirtle {
namespace fs = std::filesystem;

namespace {

std::string lower(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(), [](unsigned char c) {
    return c < 0x80 ? static_cast<char>(std::tolower(c)) : static_cast<char>(c);
  });
  return text;
}

/// "1 \"white\", 2 \"red\"": samples as scenes name them.
std::string listed(const std::vector<const PlateEntry*>& entries) {
  std::string out;
  for (const PlateEntry* e : entries)
    out += fmt::format("{}{} \"{}\"", out.empty() ? "" : ", ", e->sample + 1, printable(e->name, 60));
  return out;
}

/// Finds what each plate means; faults of all together.
class Finder {
 public:
  explicit Finder(Diagnostics& notes) : notes_(notes) {}

  std::optional<PlateEntry> find(const ScenePlate& plate) {
    const std::vector<PlateEntry>* entries = listing(plate.file);
    if (entries == nullptr) return std::nullopt;
    try {
      PlateEntry entry = entry_of(plate, *entries);
      check_polarity(plate, entry);
      return entry;
    } catch (const InputError& e) {
      faults_.append(e.diagnostics());
      return std::nullopt;
    }
  }

  Diagnostics& faults() { return faults_; }

 private:
  const std::vector<PlateEntry>* listing(const fs::path& file) {
    const auto [at, is_new] = listings_.try_emplace(file);
    if (!is_new) return at->second ? &*at->second : nullptr;
    try {
      at->second = list_plates(file, notes_);
    } catch (const InputError& e) {
      faults_.append(e.diagnostics());
    }
    return at->second ? &*at->second : nullptr;
  }

  static void check_polarity(const ScenePlate& plate, const PlateEntry& entry) {
    if (entry.kind == SampleKind::grey && !plate.polarity) {
      throw InputError(
          plate.place,
          fmt::format("plate \"{}\" is a grey, and a grey does not say whether its dark or its light "
                      "prints; ink_is is missing",
                      printable(plate.name)),
          "write ink_is = \"dark\" if black on the plate prints, as on a film positive; \"light\" if "
          "white prints");
    }
    if (entry.kind != SampleKind::grey && plate.polarity) {
      throw InputError(
          plate.place,
          fmt::format("plate \"{}\" has ink_is, but {} says itself what is ink: it is a {}",
                      printable(plate.name), printable(plate.file.string()),
                      entry.kind == SampleKind::spot ? "spot sample (full = no ink)"
                                                     : "sample of a separated file (0 = no ink)"),
          "take ink_is out");
    }
  }

  Diagnostics& notes_;
  Diagnostics faults_;
  std::map<fs::path, std::optional<std::vector<PlateEntry>>> listings_;
};

/// All of one size, and of one resolution unless the scene gives it.
double agreed_ppi(const Scene& scene, const std::vector<int>& which,
                  const std::vector<std::optional<PlateEntry>>& entries, Diagnostics& faults) {
  const PlateEntry* first = nullptr;
  std::string first_name;
  double ppi = scene.ppi;
  for (std::size_t i = 0; i < entries.size(); ++i) {
    if (!entries[i]) continue;
    const PlateEntry& e = *entries[i];
    const std::string& name = scene.plates[static_cast<std::size_t>(which[i])].name;
    const Place place{e.file.string(), 0, 0};
    if (first == nullptr) {
      first = &e;
      first_name = name;
    }
    if (first->width != e.width || first->height != e.height) {
      faults.error(
          place,
          fmt::format(
              "plate \"{}\" is {} x {} pixels, but plate \"{}\" is {} x {}; the plates of one set must "
              "have the same size",
              name, e.width, e.height, first_name, first->width, first->height),
          "export all plates of the set from the same document at the same size");
    }
    if (scene.ppi > 0 || e.ppi == 0) continue;
    if (ppi == 0) ppi = e.ppi;
    if (std::abs(ppi - e.ppi) > 0.01 * ppi) {
      faults.error(
          place,
          fmt::format(
              "plate \"{}\" says {:.4g} pixels per inch, but an earlier plate of the set says {:.4g}; "
              "the plates of one set must agree",
              name, e.ppi, ppi),
          "export all plates at one resolution, or write ppi = ... into the scene");
    }
  }
  if (first != nullptr && ppi == 0 && !faults.has_errors()) {
    faults.error(
        {scene.file.string(), 0, 0}, "no plate says its resolution, and the scene has no ppi",
        "write ppi = 300 (pixels per inch of the plates at print size) into the scene, or give --ppi 300");
  }
  return ppi;
}

void check_art_box(const Scene& scene, const PlateEntry& entry, double ppi, Diagnostics& faults) {
  if (!scene.art_box) return;
  const ArtBox& box = *scene.art_box;
  const double width = entry.width / ppi * kMmPerInch, height = entry.height / ppi * kMmPerInch;
  if (box.x.v < width && box.y.v < height && box.x.v + box.width.v > 0 && box.y.v + box.height.v > 0) return;
  faults.error(
      {scene.file.string(), 0, 0},
      fmt::format("art.box lies wholly outside the plates, which are {:.1f} x {:.1f} mm", width, height),
      "give x, y, width and height from the plates' top left corner");
}

template <class Sample>
void clear_outside(std::vector<Sample>& ink, int width, int height, int x0, int y0, int x1, int y1) {
  for (int y = 0; y < height; ++y) {
    const auto row = ink.begin() + static_cast<std::ptrdiff_t>(y) * width;
    if (y < y0 || y >= y1) {
      std::fill(row, row + width, Sample{0});
    } else {
      std::fill(row, row + x0, Sample{0});
      std::fill(row + x1, row + width, Sample{0});
    }
  }
}

}  // namespace

PlateEntry entry_of(const ScenePlate& plate, const std::vector<PlateEntry>& entries) {
  const auto refuse = [&](const std::string& what, const std::string& remedy) {
    throw InputError(
        plate.place,
        fmt::format("plate \"{}\": {} {}", printable(plate.name), printable(plate.file.string()), what),
        remedy);
  };
  std::vector<const PlateEntry*> here, meant;
  int pages = 0;
  for (const PlateEntry& e : entries) {
    pages = std::max(pages, e.page + 1);
    if (e.page == plate.page - 1) here.push_back(&e);
  }
  if (here.empty()) {
    refuse(fmt::format("has no plate on page {}; it has {} page{}", plate.page, pages, pages == 1 ? "" : "s"),
           "kirtle plates FILE lists what is in the file");
  }
  const std::string wanted = lower(plate.sample);
  for (const PlateEntry* e : here) {
    const bool by_name = !wanted.empty() && lower(e->name) == wanted;
    const bool by_number = plate.sample_number == e->sample + 1;
    const bool any = wanted.empty() && plate.sample_number == 0 && !e->composite;
    if (by_name || by_number || any) meant.push_back(e);
  }
  if (meant.empty() && wanted.empty() && plate.sample_number == 0 && here.size() == 1) meant = here;
  if (meant.empty()) {
    refuse(fmt::format("has no sample {}", plate.sample_number > 0 ? std::to_string(plate.sample_number)
                                                                   : '"' + printable(plate.sample, 60) + '"'),
           "it holds " + listed(here));
  }
  if (meant.size() > 1) {
    refuse(wanted.empty()
               ? fmt::format("holds {} plates", meant.size())
               : fmt::format("holds {} plates of the name \"{}\"", meant.size(), printable(plate.sample)),
           fmt::format("say which with sample = ... (number or name): {}", listed(meant)));
  }
  return *meant.front();
}

void cut_to_art_box(PlateImage& image, const ArtBox& box, double ppi) {
  KIRTLE_CHECK(ppi, >, 0);
  const double scale = ppi / kMmPerInch;
  const auto pixel = [&](double mm, int most) {
    return static_cast<int>(std::lround(std::clamp(mm * scale, 0.0, static_cast<double>(most))));
  };
  const int x0 = pixel(box.x.v, image.width), x1 = pixel(box.x.v + box.width.v, image.width);
  const int y0 = pixel(box.y.v, image.height), y1 = pixel(box.y.v + box.height.v, image.height);
  if (image.bits == 8) {
    clear_outside(image.ink8, image.width, image.height, x0, y0, x1, y1);
  } else {
    clear_outside(image.ink16, image.width, image.height, x0, y0, x1, y1);
  }
}

PlateSet read_plate_set(const Scene& scene, const std::vector<int>& which, Diagnostics& notes,
                        const RowsWanted& rows_wanted) {
  Finder finder(notes);
  Diagnostics& faults = finder.faults();
  const auto plate_of = [&](std::size_t i) -> const ScenePlate& {
    return scene.plates[static_cast<std::size_t>(which[i])];
  };
  std::vector<std::optional<PlateEntry>> entries;
  for (std::size_t i = 0; i < which.size(); ++i) entries.push_back(finder.find(plate_of(i)));
  PlateSet out;
  out.ppi = agreed_ppi(scene, which, entries, faults);
  if (!faults.has_errors()) check_art_box(scene, *entries.front(), out.ppi, faults);
  faults.throw_if_errors();
  const int rows = rows_wanted && !entries.empty()
                       ? rows_wanted(entries.front()->width, entries.front()->height, out.ppi)
                       : kMaxPlateSide;

  out.images.resize(which.size());
  // One pass over a file for all that can go together: spots and inks with any polarity of grey.
  struct Pass {
    std::vector<std::size_t> plates;
    std::vector<PlateEntry> asked;
    std::optional<Polarity> polarity;
    Diagnostics noticed, faults;
  };
  std::vector<Pass> passes;
  std::vector<bool> done(which.size());
  for (std::size_t i = 0; i < which.size(); ++i) {
    if (done[i]) continue;
    Pass pass;
    for (std::size_t k = i; k < which.size(); ++k) {
      if (done[k] || plate_of(k).file != plate_of(i).file) continue;
      if (pass.polarity && plate_of(k).polarity && *pass.polarity != *plate_of(k).polarity) continue;
      if (plate_of(k).polarity) pass.polarity = plate_of(k).polarity;
      pass.plates.push_back(k);
      pass.asked.push_back(*entries[k]);
      done[k] = true;
    }
    passes.push_back(std::move(pass));
  }
  parallel_for(passes.size(), 0, [&](std::size_t item, unsigned) {
    Pass& pass = passes[item];
    try {
      std::vector<PlateImage> images =
          read_plates(pass.asked, pass.polarity.value_or(Polarity::dark_is_ink), pass.noticed, rows);
      for (std::size_t k = 0; k < images.size(); ++k) out.images[pass.plates[k]] = std::move(images[k]);
    } catch (const InputError& e) {
      pass.faults.append(e.diagnostics());
    }
  });
  for (const Pass& pass : passes) {
    notes.append_new(pass.noticed);
    faults.append(pass.faults);
  }
  faults.throw_if_errors();
  if (scene.art_box) {
    for (PlateImage& image : out.images) cut_to_art_box(image, *scene.art_box, out.ppi);
  }
  return out;
}

}  // namespace kirtle
