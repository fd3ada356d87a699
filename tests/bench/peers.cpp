#include "bench/peers.h"

#include "base/check.h"
#include "base/parallel.h"

#include <cmath>
#include <cstring>
#include <lcms2.h>

namespace kirtle::bench {

namespace {

double printed(const BenchPrint& print, int plate, double film) {
  return print.prediction.model().plates[static_cast<std::size_t>(plate)].tone.printed(film);
}

struct Sampled {
  const BenchPrint& print;
  std::vector<double> share;
};

/// One point of the table: our model's colour as Lab for the profile's 16 bits.
int sample_point(const cmsUInt16Number in[], cmsUInt16Number out[], void* cargo) {
  auto& to = *static_cast<Sampled*>(cargo);
  for (std::size_t i = 0; i < to.share.size(); ++i)
    to.share[i] = printed(to.print, static_cast<int>(i), in[i] / 65535.0);
  const OverprintTable& table = to.print.prediction.model().table;
  const Lab lab = lab_from_xyz(table.mix(to.share), table.weights().white);
  const cmsCIELab value{lab.l, lab.a, lab.b};
  cmsFloat2LabEncoded(out, &value);
  return 1;
}

cmsHPROFILE table_profile(const BenchPrint& print) {
  const int n = print.plates();
  KIRTLE_CHECK(n == 2 || n == 4 || n == 6, ==, true);
  const auto points = static_cast<cmsUInt32Number>(n == 2 ? 33 : n == 4 ? 17 : 9);
  cmsHPROFILE profile = cmsCreateProfilePlaceholder(nullptr);
  cmsSetProfileVersion(profile, 4.3);
  cmsSetDeviceClass(profile, cmsSigOutputClass);
  cmsSetColorSpace(profile, n == 2 ? cmsSig2colorData : n == 4 ? cmsSigCmykData : cmsSig6colorData);
  cmsSetPCS(profile, cmsSigLabData);
  cmsPipeline* pipeline = cmsPipelineAlloc(nullptr, static_cast<cmsUInt32Number>(n), 3);
  cmsStage* table = cmsStageAllocCLut16bit(nullptr, points, static_cast<cmsUInt32Number>(n), 3, nullptr);
  Sampled cargo{print, std::vector<double>(static_cast<std::size_t>(n))};
  KIRTLE_CHECK(cmsStageSampleCLut16bit(table, sample_point, &cargo, 0), ==, 1);
  cmsPipelineInsertStage(pipeline, cmsAT_END, table);
  KIRTLE_CHECK(cmsWriteTag(profile, cmsSigAToB0Tag, pipeline), ==, 1);
  cmsPipelineFree(pipeline);
  return profile;
}

}  // namespace

TablePeer::TablePeer(const BenchPrint& print)
    : width_(print.width()), plates_(print.plates()), bytes_(print.image(0).bits / 8) {
  chunky_.resize(print.plate_bytes());
  for (std::size_t i = 0; i < print.pixels(); ++i) {
    for (int p = 0; p < plates_; ++p) {
      const PlateImage& image = print.image(p);
      const std::size_t at = i * static_cast<std::size_t>(plates_) + static_cast<std::size_t>(p);
      if (bytes_ == 1) {
        chunky_[at] = image.ink8[i];
      } else {
        std::memcpy(&chunky_[2 * at], &image.ink16[i], 2);
      }
    }
  }
  cmsHPROFILE from = table_profile(print), to = cmsCreate_sRGBProfile();
  const auto space = static_cast<cmsUInt32Number>(plates_ == 2 ? PT_MCH2 : plates_ == 4 ? PT_CMYK : PT_MCH6);
  const cmsUInt32Number format = COLORSPACE_SH(space) | CHANNELS_SH(static_cast<cmsUInt32Number>(plates_)) |
                                 BYTES_SH(static_cast<cmsUInt32Number>(bytes_));
  transform_ = cmsCreateTransform(from, format, to, TYPE_RGB_8, INTENT_RELATIVE_COLORIMETRIC, 0);
  KIRTLE_CHECK(transform_ != nullptr, ==, true);
  cmsCloseProfile(from);
  cmsCloseProfile(to);
}

TablePeer::~TablePeer() { cmsDeleteTransform(transform_); }

void TablePeer::render(int y0, int rows, std::uint8_t* out) const {
  const std::size_t from = static_cast<std::size_t>(y0) * static_cast<std::size_t>(width_);
  cmsDoTransform(transform_, chunky_.data() + from * static_cast<std::size_t>(plates_ * bytes_), out,
                 static_cast<cmsUInt32Number>(rows * width_));
}

SpectralPeer::SpectralPeer(const BenchPrint& print)
    : print_(print), srgb_(print.prediction.model().table.weights().white) {
  const OverprintTable& table = print.prediction.model().table;
  for (int p = 0; p < print.plates(); ++p) {
    tone_.emplace_back();
    for (int v = 0; v < 256; ++v) tone_.back().push_back(static_cast<float>(printed(print, p, v / 255.0)));
  }
  for (unsigned state = 0; state < 1u << print.plates(); ++state) {
    std::vector<double> dose;
    for (int p = 0; p < print.plates(); ++p) dose.push_back(state >> p & 1u);
    const Spectrum r = table.reflectance(dose);
    roots_.emplace_back();
    for (std::size_t b = 0; b < kBands; ++b) roots_.back()[b] = static_cast<float>(std::sqrt(r[b]));
  }
  for (std::size_t b = 0; b < kBands; ++b) {
    for (std::size_t c = 0; c < 3; ++c) weights_[b][c] = static_cast<float>(table.weights().w[b][c]);
  }
}

void SpectralPeer::render(int y0, int rows, std::uint8_t* out) const {
  const std::size_t from = static_cast<std::size_t>(y0) * static_cast<std::size_t>(print_.width());
  const std::size_t count = static_cast<std::size_t>(rows) * static_cast<std::size_t>(print_.width());
  std::vector<float> w(roots_.size());
  const volatile float exponent = 2;  // so that the compiler does not know it, as a program would not
  for (std::size_t i = 0; i < count; ++i) {
    w[0] = 1;
    std::size_t filled = 1;
    for (std::size_t p = 0; p < tone_.size(); ++p) {
      const float a = tone_[p][print_.image(static_cast<int>(p)).ink8[from + i]];
      for (std::size_t s = 0; s < filled; ++s) {
        w[filled + s] = w[s] * a;
        w[s] *= 1 - a;
      }
      filled *= 2;
    }
    std::array<float, kBands> sum{};
    for (std::size_t s = 0; s < w.size(); ++s) {
      for (std::size_t b = 0; b < kBands; ++b) sum[b] += w[s] * roots_[s][b];
    }
    float x = 0, y = 0, z = 0;
    const float n = exponent;
    for (std::size_t b = 0; b < kBands; ++b) {
      const float r = std::pow(sum[b], n);
      x += r * weights_[b][0];
      y += r * weights_[b][1];
      z += r * weights_[b][2];
    }
    const Rgb8 code = srgb_.encode8({static_cast<double>(x), static_cast<double>(y), static_cast<double>(z)});
    std::memcpy(out + 3 * i, code.data(), 3);
  }
}

CopyPeer::CopyPeer(std::size_t bytes) : from_(bytes / 2, 1), to_(bytes / 2, 2) {}

void CopyPeer::copy(unsigned threads) {
  constexpr std::size_t kPieces = 64;
  const std::size_t piece = from_.size() / kPieces;
  parallel_for(kPieces, threads, [&](std::size_t i, unsigned) {
    std::memcpy(to_.data() + i * piece, from_.data() + i * piece, piece);
  });
}

}  // namespace kirtle::bench
