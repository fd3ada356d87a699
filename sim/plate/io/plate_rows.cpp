#include "plate/io/plate_rows.h"

#include "base/check.h"

namespace kirtle::detail {
namespace {

/// ink = grey, or max - grey. Written so that the compiler makes vectors of it: max - v is v with every bit
/// turned.
template <class Sample>
void turn(Sample* row, int count, bool invert) {
  if (!invert) return;
  for (int i = 0; i < count; ++i) row[i] = static_cast<Sample>(~row[i]);
}

}  // namespace

template <>
std::vector<std::uint8_t>& PlateRows::store<std::uint8_t>() {
  return plate_.ink8;
}
template <>
std::vector<std::uint16_t>& PlateRows::store<std::uint16_t>() {
  return plate_.ink16;
}

PlateRows::PlateRows(const SourceFile& file, const PlateHeader& header, PixelLayout layout, bool invert)
    : file_(file), layout_(layout), invert_(invert) {
  plate_.name = file.path().stem().string();
  plate_.width = header.width;
  plate_.height = header.height;
  plate_.ppi = header.ppi;
  plate_.bits = header.bits;
  if (header.bits == 8) {
    plate_.ink8.resize(plate_.pixels());
  } else {
    plate_.ink16.resize(plate_.pixels());
  }
}

void* PlateRows::row(int y) {
  const std::size_t start = static_cast<std::size_t>(y) * static_cast<std::size_t>(plate_.width);
  if (plate_.bits == 8) return plate_.ink8.data() + start;
  return plate_.ink16.data() + start;
}

void PlateRows::finish_row(int y, int count) {
  if (plate_.bits == 8) {
    turn(static_cast<std::uint8_t*>(row(y)), count, invert_);
  } else {
    turn(static_cast<std::uint16_t*>(row(y)), count, invert_);
  }
}

void PlateRows::put(int y, int x0, int step, int count, const void* samples) {
  if (plate_.bits == 8) {
    put_samples(y, x0, step, count, static_cast<const std::uint8_t*>(samples));
  } else {
    put_samples(y, x0, step, count, static_cast<const std::uint16_t*>(samples));
  }
}

template <class Sample>
void PlateRows::put_samples(int y, int x0, int step, int count, const Sample* samples) {
  KIRTLE_CHECK(x0 + static_cast<std::int64_t>(count - 1) * step, <, plate_.width);
  const int channels = layout_.channels();
  const Sample flip = invert_ ? static_cast<Sample>(~Sample{0}) : Sample{0};
  Sample* out = static_cast<Sample*>(row(y)) + x0;
  for (int i = 0; i < count; ++i) out[i * step] = static_cast<Sample>(samples[i * channels] ^ flip);
  if (layout_.rgb) {
    int differs = 0;
    for (int i = 0; i < count; ++i) {
      const Sample* p = samples + i * channels;
      differs |= (p[0] ^ p[1]) | (p[0] ^ p[2]);
    }
    for (int i = 0; differs != 0 && i < count; ++i) {
      const Sample* p = samples + i * channels;
      if (p[0] != p[1] || p[0] != p[2]) refuse_colour(x0 + i * step, y, p[0], p[1], p[2]);
    }
  }
  if (layout_.alpha) {
    unsigned lowest = plate_.bits == 8 ? 255u : 65535u;
    const unsigned opaque = lowest;
    for (int i = 0; i < count; ++i) lowest &= samples[i * channels + channels - 1];
    if (lowest != opaque) transparent_ = true;
  }
}

void PlateRows::put_plane(int plane, int y, int x0, int count, const void* samples) {
  if (plate_.bits == 8) {
    put_plane_samples(plane, y, x0, count, static_cast<const std::uint8_t*>(samples));
  } else {
    put_plane_samples(plane, y, x0, count, static_cast<const std::uint16_t*>(samples));
  }
}

template <class Sample>
void PlateRows::put_plane_samples(int plane, int y, int x0, int count, const Sample* samples) {
  KIRTLE_CHECK(x0 + count, <=, plate_.width);
  const Sample flip = invert_ ? static_cast<Sample>(~Sample{0}) : Sample{0};
  Sample* out = static_cast<Sample*>(row(y)) + x0;
  if (plane == 0) {
    for (int i = 0; i < count; ++i) out[i] = static_cast<Sample>(samples[i] ^ flip);
  } else if (layout_.rgb && plane < 3) {
    for (int i = 0; i < count; ++i) {
      const auto red = static_cast<Sample>(out[i] ^ flip);
      if (samples[i] == red) continue;
      if (plane == 1) refuse_colour(x0 + i, y, red, samples[i], -1);
      refuse_colour(x0 + i, y, red, red, samples[i]);
    }
  } else {
    for (int i = 0; i < count; ++i) {
      if (samples[i] != static_cast<Sample>(~Sample{0})) transparent_ = true;
    }
  }
}

void PlateRows::refuse_colour(int x, int y, int r, int g, int b) const {
  std::string found = "red " + std::to_string(r) + ", green " + std::to_string(g);
  if (b >= 0) found += ", blue " + std::to_string(b);
  file_.refuse("this is a colour picture, not a plate: column " + std::to_string(x + 1) + ", row " +
                   std::to_string(y + 1) + " holds " + found + "; a plate is grey",
               "export each plate as one grey");
}

PlateImage PlateRows::take(Diagnostics& notes) {
  if (layout_.rgb) notes.notice(file_.place(), "saved as RGB with R = G = B everywhere; read as one grey");
  if (layout_.alpha && transparent_) {
    notes.warning(
        file_.place(),
        "the transparency (alpha channel) is ignored, and some of the picture is see-through there: its grey "
        "counts as it stands",
        "flatten onto white and export again if see-through should mean no ink");
  } else if (layout_.alpha) {
    notes.notice(file_.place(), "the transparency (alpha channel) is ignored; all of it is opaque");
  }
  return std::move(plate_);
}

}  // namespace kirtle::detail
