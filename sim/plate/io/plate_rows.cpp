#include "plate/io/plate_rows.h"

#include "base/check.h"
#include "plate/io/ink_share.h"

#include <algorithm>
#include <sys/mman.h>
#include <type_traits>

namespace kirtle::detail {
namespace {

template <class In>
using CodeOf = std::conditional_t<std::is_same_v<In, std::uint8_t>, std::uint8_t, std::uint16_t>;

template <class Code>
Code* row_of(PlateImage& image, int y) {
  const std::size_t start = static_cast<std::size_t>(y) * static_cast<std::size_t>(image.width);
  if constexpr (sizeof(Code) == 1) {
    return image.ink8.data() + start;
  } else {
    return image.ink16.data() + start;
  }
}
template <class Code>
const Code* row_of(const PlateImage& image, int y) {
  return row_of<Code>(const_cast<PlateImage&>(image), y);
}

std::string shown(double v) {
  char text[32];
  std::snprintf(text, sizeof text, "%.6g", v);
  return text;
}

/// `count` zeros. A plate is tens of megabytes, and entering that memory page by page costs more than filling
/// it: large pages are asked for first, where the system has them (madvise(2), MADV_HUGEPAGE).
template <class Code>
void make_room(std::vector<Code>& ink, std::size_t count) {
  ink.reserve(count);
#ifdef MADV_HUGEPAGE
  constexpr std::uintptr_t kPage = std::uintptr_t{2} << 20;
  const std::uintptr_t start = reinterpret_cast<std::uintptr_t>(ink.data());
  const std::uintptr_t first = (start + kPage - 1) / kPage * kPage;
  const std::uintptr_t last = (start + count * sizeof(Code)) / kPage * kPage;
  // A wish: where it is not granted the pages are small ones.
  if (first < last) (void)::madvise(reinterpret_cast<void*>(first), last - first, MADV_HUGEPAGE);
#endif
  ink.resize(count);
}

/// Two colours, none and solid, and nothing between.
bool is_dots(const PlatePage& page) {
  if (page.number.bits != 1) return false;
  return std::all_of(page.palette.begin(), page.palette.end(),
                     [](const auto& c) { return c[0] == 0 || c[0] == 255; });
}

InkCodes codes_of(const PlatePage& page, const PagePlate& plate, Polarity grey_polarity) {
  const double top = page.palette.empty() ? page.number.top() : 255;
  if (plate.entry.kind != SampleKind::grey)
    return InkCodes(page.number, plate.none, plate.solid, page.palette);
  // Numbers that say white by 0 already grow with the ink of a dark_is_ink plate.
  const bool turn = (grey_polarity == Polarity::dark_is_ink) != plate.white_is_zero;
  return InkCodes(page.number, turn ? top : 0, turn ? 0 : top, page.palette);
}

}  // namespace

PlateRows::PlateRows(const SourceFile& file, const PlatePage& page,
                     const std::vector<const PagePlate*>& wanted, Polarity grey_polarity, int rows_wanted)
    : file_(file), page_(page) {
  const bool plain = page.samples == 1 && page.palette.empty() && !page.number.is_float;
  rows_wanted_ = plain ? std::max(rows_wanted, 1) : page.height;
  for (const PagePlate* plate : wanted) {
    PlateImage image;
    image.name = plate->entry.name;
    image.width = page.width;
    image.height = page.height;
    image.ppi = page.ppi;
    image.bits = page.number.plate_bits();
    image.dots = is_dots(page);
    if (image.bits == 8) {
      make_room(image.ink8, image.pixels());
    } else {
      make_room(image.ink16, image.pixels());
    }
    sinks_.push_back({plate, codes_of(page, *plate, grey_polarity), std::move(image)});
  }
}

PlateRows::PlateRows(const SourceFile& file, const PlatePage& page, const PagePlate& plate)
    : file_(file), page_(page), keep_(false), rows_wanted_(page.height) {
  PlateImage image;
  image.width = page.width;
  image.height = page.height;
  image.bits = page.number.plate_bits();
  // The red of a planar picture is kept, for green and blue to be compared with.
  if (plate.rgb && page.planar) {
    if (image.bits == 8) {
      image.ink8.resize(image.pixels());
    } else {
      image.ink16.resize(image.pixels());
    }
  }
  sinks_.push_back({&plate, codes_of(page, plate, Polarity::light_is_ink), std::move(image)});
}

bool PlateRows::enough(int y) {
  if (y + 1 < rows_wanted_ || y + 1 >= page_.height) return false;
  const bool inky = std::any_of(sinks_.begin(), sinks_.end(),
                                [&](const Sink& sink) { return mostly_ink(sink.image, rows_wanted_); });
  if (inky) rows_wanted_ = page_.height;
  return !inky;
}

void* PlateRows::direct_row(int y, int sample) {
  if (!keep_ || sinks_.size() != 1 || sinks_[0].plate->rgb || !page_.palette.empty()) return nullptr;
  if (sinks_[0].plate->entry.sample != sample) return nullptr;
  if (page_.number.is_float || page_.number.bits < 8) return nullptr;
  PlateImage& image = sinks_[0].image;
  if (image.bits == 8) return row_of<std::uint8_t>(image, y);
  return row_of<std::uint16_t>(image, y);
}

void PlateRows::finish_direct_row(int y) {
  Sink& sink = sinks_[0];
  const Run run{y, 0, 1, page_.width, 1};
  if (sink.codes.same()) return;
  if (sink.image.bits == 8) {
    store(sink, run, row_of<std::uint8_t>(sink.image, y));
  } else {
    store(sink, run, row_of<std::uint16_t>(sink.image, y));
  }
}

bool PlateRows::wants_plane(int sample) const {
  if (keep_ && std::find(page_.alphas.begin(), page_.alphas.end(), sample) != page_.alphas.end()) return true;
  return std::any_of(sinks_.begin(), sinks_.end(), [&](const Sink& sink) {
    const int first = sink.plate->entry.sample;
    return sample >= first && sample < first + (sink.plate->rgb ? 3 : 1);
  });
}

void PlateRows::put(int y, int x0, int step, int count, const void* packed) {
  KIRTLE_CHECK(x0 + static_cast<std::int64_t>(count - 1) * step, <, page_.width);
  row_.unpack(packed, count * page_.samples, page_.number);
  const Run run{y, x0, step, count, page_.samples};
  if (page_.number.is_float) {
    put_run(run, row_.floats());
  } else if (page_.number.bits == 16) {
    put_run(run, row_.words());
  } else {
    put_run(run, row_.bytes());
  }
}

template <class In>
void PlateRows::put_run(const Run& run, const In* samples) {
  if constexpr (sizeof(In) == 1) {
    if (!page_.palette.empty()) check_palette(run, samples);
  }
  for (Sink& sink : sinks_) {
    const In* first = samples + sink.plate->entry.sample;
    if (keep_) store(sink, run, first);
    if (sink.plate->rgb) check_equal(sink, run, first);
  }
  if (!keep_) return;
  for (const int alpha : page_.alphas) watch_alpha(run, samples + alpha);
}

void PlateRows::put_plane(int sample, int y, int x0, int count, const void* packed) {
  KIRTLE_CHECK(x0 + count, <=, page_.width);
  row_.unpack(packed, count, page_.number);
  const Run run{y, x0, 1, count, 1};
  const bool alpha = std::find(page_.alphas.begin(), page_.alphas.end(), sample) != page_.alphas.end();
  const auto each = [&](const auto* samples) {
    for (Sink& sink : sinks_) {
      const int first = sink.plate->entry.sample;
      if (sample == first) {
        if (keep_ || sink.plate->rgb) store(sink, run, samples);
      } else if (sink.plate->rgb && (sample == first + 1 || sample == first + 2)) {
        compare_plane(sink, run, samples, sample == first + 2);
      }
    }
    if (alpha) watch_alpha(run, samples);
  };
  if (page_.number.is_float) {
    each(row_.floats());
  } else if (page_.number.bits == 16) {
    each(row_.words());
  } else {
    each(row_.bytes());
  }
}

template <class In>
void PlateRows::store(Sink& sink, const Run& run, const In* sample) {
  auto* out = row_of<CodeOf<In>>(sink.image, run.y) + run.x0;
  for (int i = 0; i < run.count; ++i) {
    const In v = sample[i * run.samples];
    if constexpr (std::is_same_v<In, float>) {
      if (!(v >= 0 && v <= 1)) {
        file_.refuse(place_of(run.x0 + i * run.step, run.y) + " of \"" + printable(sink.plate->entry.name) +
                         "\" holds " + shown(v) + "; floating-point plates hold 0..1",
                     "export it as 8 or 16 bit, or scaled to 0..1");
      }
    }
    out[i * run.step] = sink.codes.of(v);
  }
}

template <class In>
void PlateRows::check_equal(const Sink&, const Run& run, const In* samples) {
  bool differs = false;
  for (int i = 0; i < run.count; ++i) {
    const In* p = samples + i * run.samples;
    differs |= !(p[0] == p[1] && p[0] == p[2]);
  }
  for (int i = 0; differs && i < run.count; ++i) {
    const In* p = samples + i * run.samples;
    if (p[0] == p[1] && p[0] == p[2]) continue;
    found_colour(run.x0 + i * run.step, run.y,
                 "red " + shown(p[0]) + ", green " + shown(p[1]) + ", blue " + shown(p[2]));
    return;
  }
}

/// Green and blue of a planar picture come when red is a plate already: they are compared as ink codes.
template <class In>
void PlateRows::compare_plane(const Sink& sink, const Run& run, const In* samples, bool blue) {
  const auto* red = row_of<CodeOf<In>>(sink.image, run.y) + run.x0;
  for (int i = 0; i < run.count; ++i) {
    const In v = samples[i];
    if (v >= In{0} && v <= static_cast<In>(page_.number.top()) && sink.codes.of(v) == red[i]) continue;
    // The stored red: grey numbers are full code x ink, or the other way round.
    double stored = red[i] * page_.number.top() / sink.image.max();
    if (sink.codes.of(In{0}) != 0) stored = page_.number.top() - stored;
    const std::string first = "red " + shown(stored) + ", green ";
    found_colour(run.x0 + i, run.y, blue ? first + shown(stored) + ", blue " + shown(v) : first + shown(v));
    return;
  }
}

void PlateRows::check_palette(const Run& run, const std::uint8_t* samples) {
  const auto is_colour = [&](std::uint8_t v) {
    const auto& c = page_.palette[v];
    return c[0] != c[1] || c[0] != c[2];
  };
  for (int i = 0; i < run.count; ++i) {
    const std::uint8_t v = samples[i];
    if (v >= page_.palette.size()) {
      file_.damaged("a pixel has palette entry " + std::to_string(v) + "; there are " +
                    std::to_string(page_.palette.size()));
    }
    if (!is_colour(v)) continue;
    const auto& c = page_.palette[v];
    found_colour(run.x0 + i * run.step, run.y,
                 "red " + shown(c[0]) + ", green " + shown(c[1]) + ", blue " + shown(c[2]));
    return;
  }
}

template <class In>
void PlateRows::watch_alpha(const Run& run, const In* samples) {
  const auto opaque = static_cast<In>(page_.number.top());
  for (int i = 0; i < run.count; ++i) transparent_ |= !(samples[i * run.samples] >= opaque);
}

std::string PlateRows::place_of(int x, int y) const {
  return "column " + std::to_string(x + 1) + ", row " + std::to_string(y + 1);
}

void PlateRows::found_colour(int x, int y, const std::string& found) {
  colour_ = place_of(x, y) + " holds " + found;
  if (keep_) refuse_colour(file_, colour_);
}

void PlateRows::refuse_colour(const SourceFile& file, const std::string& colour) {
  file.refuse("this is a colour picture, not a plate: " + colour + "; a plate is grey",
              "export the plates as greys, PNG or TIFF");
}

std::vector<PlateImage> PlateRows::take(Diagnostics& notes) {
  std::vector<PlateImage> images;
  for (Sink& sink : sinks_) {
    if (sink.plate->rgb) {
      notes.notice(file_.place(),
                   file_.about_page("saved as RGB with R = G = B everywhere; read as one grey"));
    }
    images.push_back(std::move(sink.image));
  }
  if (!page_.alphas.empty() && transparent_) {
    notes.warning(file_.place(),
                  file_.about_page("the transparency (alpha channel) is ignored, and some of the picture is "
                                   "see-through there: its grey counts as it stands"),
                  "flatten onto white and export again if see-through should mean no ink");
  } else if (!page_.alphas.empty()) {
    notes.notice(file_.place(),
                 file_.about_page("the transparency (alpha channel) is ignored; all of it is opaque"));
  }
  return images;
}

}  // namespace kirtle::detail
