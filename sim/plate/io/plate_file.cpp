#include "plate/io/plate_file.h"

#include "base/check.h"
#include "plate/io/file_kind.h"
#include "plate/io/ink_share.h"
#include "plate/io/page_reader.h"

#include <algorithm>
#include <map>

namespace kirtle {
namespace {

using detail::FileKind;
using detail::PagePlate;
using detail::PlatePage;
using detail::PlateRows;
using detail::SourceFile;

/// "moth", or of several plates "moth page 2 ink 3".
std::string made_up_name(const PlateEntry& entry, const std::string& stem, bool several_pages,
                         const PlatePage& page) {
  std::string name = stem.empty() ? "plate" : stem;
  if (several_pages) name += " page " + std::to_string(entry.page + 1);
  if (entry.kind == SampleKind::separated && page.plates.size() > 1)
    return name + " ink " + std::to_string(entry.sample + 1);
  if (entry.kind != SampleKind::spot) return name;
  int number = 0;
  for (const PagePlate& plate : page.plates) {
    if (plate.entry.kind == SampleKind::spot && plate.entry.sample <= entry.sample) ++number;
  }
  return name + " spot " + std::to_string(number);
}

/// Names and the file's path into every entry; a name that is there already gets a number.
void complete(const SourceFile& file, std::vector<PlatePage>& pages) {
  std::map<std::string, int> used;
  for (PlatePage& page : pages) {
    for (PagePlate& plate : page.plates) {
      PlateEntry& entry = plate.entry;
      entry.file = file.path();
      if (entry.name.empty())
        entry.name = made_up_name(entry, printable(file.path().stem().string()), pages.size() > 1, page);
      std::string name = entry.name;
      for (int n = 2; !used.emplace(name, 1).second; ++n) name = entry.name + " (" + std::to_string(n) + ")";
      entry.name = name;
    }
  }
}

std::vector<PlatePage> pages_of(SourceFile& file, Diagnostics& notes) {
  std::vector<PlatePage> pages =
      kind_of(file) == FileKind::png ? detail::png_pages(file) : detail::tiff_pages(file, notes);
  complete(file, pages);
  return pages;
}

void read_page(SourceFile& file, int number, PlateRows& rows, Diagnostics& notes) {
  if (kind_of(file) == FileKind::png) {
    detail::read_png_page(file, rows, notes);
  } else {
    detail::read_tiff_page(file, number, rows, notes);
  }
}

bool may_have_colour(const PlatePage& page, const PagePlate& plate) {
  return plate.rgb || std::any_of(page.palette.begin(), page.palette.end(),
                                  [](const auto& c) { return c[0] != c[1] || c[0] != c[2]; });
}

/// A picture with colour is refused, or left out if it stands beside spots.
void look_for_colour(SourceFile& file, int number, PlatePage& page, Diagnostics& notes) {
  if (page.plates.empty() || !may_have_colour(page, page.plates[0])) return;
  Diagnostics said_when_read;
  PlateRows rows(file, page, page.plates[0]);
  read_page(file, number, rows, said_when_read);
  if (rows.colour().empty()) return;
  if (!page.plates[0].entry.composite) PlateRows::refuse_colour(file, rows.colour());
  notes.notice(file.place(), file.about_page("the colour picture beside its spot samples is a preview of "
                                             "them, not a plate: left out"));
  page.plates.erase(page.plates.begin());
}

void check_total(const SourceFile& file, const std::vector<PlateEntry>& entries) {
  std::size_t pixels = 0;
  for (const PlateEntry& entry : entries)
    pixels += static_cast<std::size_t>(entry.width) * static_cast<std::size_t>(entry.height);
  if (pixels <= kMaxPixelsAtOnce) return;
  file.refuse(std::to_string(entries.size()) + " plates of this file are " +
                  std::to_string(pixels / 1'000'000) + " million pixels together; up to " +
                  std::to_string(kMaxPixelsAtOnce / 1'000'000) + " million are read at once",
              "export at a lower resolution, or leave plates out");
}

bool same_plate(const PlateEntry& a, const PlateEntry& b) {
  return a.sample == b.sample && a.kind == b.kind && a.width == b.width && a.height == b.height &&
         a.bits == b.bits && a.is_float == b.is_float;
}

const PagePlate& plate_of(const SourceFile& file, const PlatePage& page, const PlateEntry& entry) {
  const auto at = std::find_if(page.plates.begin(), page.plates.end(),
                               [&](const PagePlate& plate) { return same_plate(plate.entry, entry); });
  if (at == page.plates.end()) file.changed();
  return *at;
}

}  // namespace

std::vector<PlateEntry> list_plates(const std::filesystem::path& path, Diagnostics& notes) {
  SourceFile file(path);
  std::vector<PlatePage> pages = pages_of(file, notes);
  std::vector<PlateEntry> entries;
  for (std::size_t i = 0; i < pages.size(); ++i) {
    if (pages.size() > 1) file.talk_of_page(static_cast<int>(i));
    look_for_colour(file, static_cast<int>(i), pages[i], notes);
    for (const PagePlate& plate : pages[i].plates) {
      if (plate.entry.composite) {
        notes.notice(file.place(),
                     file.about_page("the grey picture beside its spot samples is most likely a preview of "
                                     "them; it is listed as a plate that you may leave out"));
      }
      entries.push_back(plate.entry);
    }
  }
  file.talk_of_page(-1);
  if (entries.empty()) file.refuse("it holds no plate", "export the plates as greys, PNG or TIFF");
  return entries;
}

std::vector<PlateImage> read_plates(const std::vector<PlateEntry>& entries, Polarity grey_polarity,
                                    Diagnostics& notes, int rows_wanted) {
  if (entries.empty()) return {};
  for (const PlateEntry& entry : entries) KIRTLE_CHECK(entry.file, ==, entries[0].file);
  SourceFile file(entries[0].file);
  check_total(file, entries);
  Diagnostics said_when_listed;
  const std::vector<PlatePage> pages = pages_of(file, said_when_listed);
  std::vector<PlateImage> images(entries.size());
  for (std::size_t number = 0; number < pages.size(); ++number) {
    std::vector<const PagePlate*> wanted;
    std::vector<std::size_t> places;
    for (std::size_t i = 0; i < entries.size(); ++i) {
      if (entries[i].page != static_cast<int>(number)) continue;
      wanted.push_back(&plate_of(file, pages[number], entries[i]));
      places.push_back(i);
    }
    if (wanted.empty()) continue;
    if (pages.size() > 1) file.talk_of_page(static_cast<int>(number));
    PlateRows rows(file, pages[number], wanted, grey_polarity, rows_wanted);
    read_page(file, static_cast<int>(number), rows, notes);
    std::vector<PlateImage> read = rows.take(notes);
    for (std::size_t i = 0; i < places.size(); ++i) images[places[i]] = std::move(read[i]);
    file.talk_of_page(-1);
  }
  for (std::size_t i = 0; i < entries.size(); ++i) {
    if (images[i].width == 0) file.changed();
    images[i].name = entries[i].name;
    detail::warn_if_mostly_ink(file, entries[i].kind, images[i], notes);
  }
  return images;
}

}  // namespace kirtle
