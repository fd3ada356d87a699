// Which samples of a TIFF page are plates. TIFF 6.0 sections 16 (Separated, InkSet, InkNames, NumberOfInks,
// DotRange) and 18 (ExtraSamples).
#include "plate/io/tiff_page.h"

#include <algorithm>

namespace kirtle::detail {
namespace {

constexpr std::uint64_t kMaxSamplesInTags = 65535;

/// ExtraSamples as written, one kind for each of the last samples; at most `extra` of them.
std::vector<std::uint32_t> extra_kinds(const TiffTags& tags, int extra) {
  auto kinds = tags.numbers(TIFFTAG_EXTRASAMPLES, "ExtraSamples", kMaxSamplesInTags)
                   .value_or(std::vector<std::uint32_t>{});
  // Written for fewer or more samples than there are: those at the end count.
  while (static_cast<int>(kinds.size()) > extra) kinds.erase(kinds.begin());
  return kinds;
}

bool is_alpha(std::uint32_t kind) { return kind == EXTRASAMPLE_ASSOCALPHA || kind == EXTRASAMPLE_UNASSALPHA; }

/// "cream\0red\0" as two names. A missing last NUL is forgiven.
std::vector<std::string> split_names(const std::string& text) {
  std::vector<std::string> names;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find('\0', at), text.size());
    names.push_back(text.substr(at, end - at));
    at = end + 1;
  }
  return names;
}

std::string plural(std::size_t count, const std::string& thing) {
  return std::to_string(count) + " " + thing + (count == 1 ? "" : "s");
}

[[noreturn]] void refuse_counts(const SourceFile& file, const std::string& found) {
  file.refuse("its counts of inks contradict each other: " + found,
              "export it again, with one name and one sample for each ink");
}

void check_count(const SourceFile& file, int plates) {
  if (plates > kMaxPlatesOfPage) {
    file.refuse("it holds " + std::to_string(plates) + " inks; up to " + std::to_string(kMaxPlatesOfPage) +
                    " are read",
                "export the plates in several files");
  }
}

void add_beside_picture(const SourceFile& file, const TiffTags& tags, int number, TiffPage& tiff,
                        Diagnostics& notes) {
  PlatePage& page = tiff.page;
  const bool rgb = tiff.photometric == PHOTOMETRIC_RGB;
  const int own = rgb ? 3 : 1;
  if (page.samples < own) {
    file.damaged("it is " + std::string(rgb ? "RGB" : "grey") + " but has " +
                 plural(static_cast<std::size_t>(page.samples), "sample") + " a pixel; no row was reached");
  }
  const int extra = page.samples - own;
  const std::vector<std::uint32_t> kinds = extra_kinds(tags, extra);
  PagePlate picture;
  picture.entry = entry_of(page, number, 0, SampleKind::grey);
  picture.rgb = rgb;
  picture.white_is_zero = tiff.photometric == PHOTOMETRIC_MINISWHITE;
  page.plates.push_back(picture);
  for (int i = 0; i < extra; ++i) {
    // Without a kind of its own a sample is unspecified.
    const std::size_t at = static_cast<std::size_t>(i);
    if (at < kinds.size() && is_alpha(kinds[at])) {
      page.alphas.push_back(own + i);
      continue;
    }
    PagePlate spot;
    spot.entry = entry_of(page, number, own + i, SampleKind::spot);
    spot.none = page.number.top();
    spot.solid = 0;
    page.plates.push_back(spot);
  }
  const std::size_t spots = page.plates.size() - 1;
  check_count(file, static_cast<int>(spots));
  if (spots == 0) return;
  page.plates[0].entry.composite = true;
  notes.notice(file.place(),
               file.about_page("it holds " + plural(spots, "spot sample") +
                               " beside the picture, read as is usual for them: full code = no ink"));
}

/// How many of the samples are inks; those behind them are alphas.
int count_inks(const SourceFile& file, const TiffTags& tags, const PlatePage& page,
               const std::vector<std::string>& names) {
  const auto stated = tags.numbers(TIFFTAG_NUMBEROFINKS, "NumberOfInks", kMaxSamplesInTags);
  const int samples = page.samples;
  const std::string samples_text = plural(static_cast<std::size_t>(samples), "sample") + " a pixel";
  if (stated && stated->size() != 1) {
    refuse_counts(file, "NumberOfInks has " + plural(stated->size(), "value"));
  }
  if (stated && !names.empty() && names.size() != (*stated)[0]) {
    refuse_counts(file, "NumberOfInks says " + std::to_string((*stated)[0]) + ", InkNames holds " +
                            plural(names.size(), "name") + ", and there are " + samples_text);
  }
  const std::vector<std::uint32_t> kinds = extra_kinds(tags, samples);
  int alphas = 0;
  while (alphas < static_cast<int>(kinds.size()) && alphas < samples - 1 &&
         is_alpha(kinds[kinds.size() - 1 - static_cast<std::size_t>(alphas)]))
    ++alphas;
  if (!stated && names.empty()) return samples - alphas;
  const std::size_t inks = stated ? (*stated)[0] : names.size();
  if (inks == 0 || inks > static_cast<std::size_t>(samples) ||
      static_cast<std::size_t>(samples) - inks > static_cast<std::size_t>(alphas)) {
    refuse_counts(file, (stated ? "NumberOfInks says " + std::to_string(inks)
                                : "InkNames holds " + plural(inks, "name")) +
                            ", but there are " + samples_text);
  }
  return static_cast<int>(inks);
}

/// None and solid of each ink: one pair for all, or one for each.
std::vector<std::array<double, 2>> dot_ranges(const SourceFile& file, const TiffTags& tags,
                                              const PlatePage& page, int inks) {
  const double top = page.number.top();
  std::vector<std::array<double, 2>> ranges(static_cast<std::size_t>(inks), {0, top});
  const auto values = tags.numbers(TIFFTAG_DOTRANGE, "DotRange", 2 * kMaxSamplesInTags);
  if (!values) return ranges;
  const auto samples = static_cast<std::size_t>(page.samples);
  if (values->size() != 2 && values->size() != 2 * ranges.size() && values->size() != 2 * samples) {
    refuse_counts(file, "DotRange holds " + plural(values->size(), "value") + " for " +
                            plural(ranges.size(), "ink") + "; it takes 2, or 2 for each ink");
  }
  for (std::size_t i = 0; i < ranges.size(); ++i) {
    const std::size_t at = values->size() == 2 ? 0 : 2 * i;
    const double none = (*values)[at], solid = (*values)[at + 1];
    if (none == solid || none > top || solid > top) {
      file.refuse("its DotRange says that ink " + std::to_string(i + 1) + " runs from " +
                      std::to_string((*values)[at]) + " to " + std::to_string((*values)[at + 1]) +
                      "; two different numbers within 0 to " + std::to_string(static_cast<int>(top)) +
                      " are allowed",
                  "export it again without a dot range, or mend the tag");
    }
    ranges[i] = {none, solid};
  }
  return ranges;
}

void add_inks(const SourceFile& file, const TiffTags& tags, int number, TiffPage& tiff) {
  PlatePage& page = tiff.page;
  const auto ink_set = tags.numbers(TIFFTAG_INKSET, "InkSet", 16);
  if (ink_set &&
      (ink_set->size() != 1 || ((*ink_set)[0] != INKSET_CMYK && (*ink_set)[0] != INKSET_MULTIINK))) {
    file.refuse("its InkSet is " + (ink_set->empty() ? "empty" : std::to_string((*ink_set)[0])) +
                    "; 1 (CMYK) and 2 (not CMYK) are known",
                "export it again as CMYK or as named inks");
  }
  std::vector<std::string> names = split_names(tags.text(TIFFTAG_INKNAMES, "InkNames").value_or(""));
  const int inks = count_inks(file, tags, page, names);
  check_count(file, inks);
  // CMYK is what a missing InkSet means, unless the inks have names.
  const bool cmyk = ink_set ? (*ink_set)[0] == INKSET_CMYK : names.empty();
  if (cmyk && inks < 4) {
    file.refuse("it says CMYK but has " + plural(static_cast<std::size_t>(inks), "ink"),
                "export it again as CMYK, or as named inks (InkSet 2)");
  }
  if (cmyk && names.empty()) names = {"Cyan", "Magenta", "Yellow", "Black"};
  const auto ranges = dot_ranges(file, tags, page, inks);
  for (int i = 0; i < inks; ++i) {
    const auto at = static_cast<std::size_t>(i);
    PagePlate plate;
    plate.entry = entry_of(page, number, i, SampleKind::separated);
    if (at < names.size() && !names[at].empty()) {
      plate.entry.name = printable(names[at]);
      plate.entry.name_in_file = true;
    }
    plate.none = ranges[at][0];
    plate.solid = ranges[at][1];
    page.plates.push_back(plate);
  }
  for (int i = inks; i < page.samples; ++i) page.alphas.push_back(i);
}

}  // namespace

void take_plates(const SourceFile& file, const TiffTags& tags, int number, TiffPage& page,
                 Diagnostics& notes) {
  if (page.photometric == PHOTOMETRIC_SEPARATED) {
    add_inks(file, tags, number, page);
  } else {
    add_beside_picture(file, tags, number, page, notes);
  }
  // A page's own name is the name of its only plate.
  if (page.page.plates.size() != 1 || page.page.plates[0].entry.name_in_file) return;
  std::string name = tags.text(TIFFTAG_PAGENAME, "PageName").value_or("");
  name = name.substr(0, name.find('\0'));
  if (name.empty()) return;
  page.page.plates[0].entry.name = printable(name);
  page.page.plates[0].entry.name_in_file = true;
}

}  // namespace kirtle::detail
