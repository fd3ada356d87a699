#include "predict/picture.h"

#include "base/parallel.h"
#include "plate/io/write_picture.h"

#include <algorithm>
#include <chrono>
#include <cstring>

namespace kirtle {

namespace {

using Clock = std::chrono::steady_clock;

double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

/// Turns rows of XYZ into device codes, rows shared over threads.
class Encoder {
 public:
  Encoder(const Prediction& prediction, const PictureSettings& settings)
      : threads_(settings.threads == 0 ? default_threads() : settings.threads),
        srgb_(prediction.model().table.weights().white) {
    const IccSettings icc{prediction.model().table.weights().white, settings.intent, true};
    if (settings.profile) {
      icc_.emplace(IccOutput::from_file(*settings.profile, icc));
    } else {
      embedded_.emplace(IccOutput::srgb(icc));
    }
    clips_.resize(threads_);
    gamuts_.resize(threads_);
  }

  int channels() const { return icc_ ? static_cast<int>(icc_->channels()) : 3; }
  const IccOutput& profile() const { return icc_ ? *icc_ : *embedded_; }

  template <class Code>
  void encode(int rows, std::size_t width, std::span<const XYZf> xyz, std::vector<Code>& out) {
    const std::size_t samples = width * static_cast<std::size_t>(channels());
    out.resize(samples * static_cast<std::size_t>(rows));
    parallel_for(static_cast<std::size_t>(rows), threads_, [&](std::size_t row, unsigned worker) {
      const std::span<const XYZf> in = xyz.subspan(row * width, width);
      const std::span<Code> codes(out.data() + row * samples, samples);
      if (icc_) {
        const std::span<const float> floats(&in.data()->x, 3 * width);
        if constexpr (sizeof(Code) == 1) {
          icc_->convert8(floats, codes, &gamuts_[worker]);
        } else {
          icc_->convert16(floats, codes, &gamuts_[worker]);
        }
      } else {
        srgb_row(in, codes, clips_[worker]);
      }
    });
  }

  void report(PictureReport& out) const {
    ClipReport clip;
    for (const ClipReport& c : clips_) clip.merge(c);
    GamutReport gamut;
    for (const GamutReport& g : gamuts_) gamut.merge(g);
    out.pixels_outside = icc_ ? gamut.outside : clip.clipped;
    out.largest_de00 = icc_ ? gamut.largest_de00 : clip.largest_de00;
    out.colour_space = profile().description();
  }

 private:
  template <class Code>
  void srgb_row(std::span<const XYZf> in, std::span<Code> codes, ClipReport& report) const {
    std::size_t clipped = 0;  // of the last colour worked out
    for (std::size_t x = 0; x < in.size(); ++x) {
      Code* to = codes.data() + 3 * x;
      // Runs of one colour are the rule; each pixel still counts towards the report.
      if (x > 0 && std::memcmp(&in[x], &in[x - 1], sizeof(XYZf)) == 0) {
        std::copy_n(to - 3, 3, to);
        ++report.colours;
        report.clipped += clipped;
        continue;
      }
      const std::size_t before = report.clipped;
      const XYZ xyz{static_cast<double>(in[x].x), static_cast<double>(in[x].y), static_cast<double>(in[x].z)};
      if constexpr (sizeof(Code) == 1) {
        const Rgb8 c = srgb_.encode8(xyz, &report);
        std::copy(c.begin(), c.end(), to);
      } else {
        const Rgb16 c = srgb_.encode16(xyz, &report);
        std::copy(c.begin(), c.end(), to);
      }
      clipped = report.clipped - before;
    }
  }

  unsigned threads_;
  SrgbEncoder srgb_;
  std::optional<IccOutput> icc_, embedded_;
  std::vector<ClipReport> clips_;
  std::vector<GamutReport> gamuts_;
};

/// A picture must not take the place of what it is made from.
void refuse_own_files(const Scene& scene, const std::filesystem::path& target,
                      const PictureSettings& settings) {
  std::vector<std::filesystem::path> own{scene.file};
  for (const ScenePlate& plate : scene.plates) own.push_back(plate.file);
  if (settings.profile) own.push_back(*settings.profile);
  for (const std::filesystem::path& file : own) {
    std::error_code ignored;
    if (std::filesystem::equivalent(file, target, ignored)) {
      throw InputError({target.string(), 0, 0}, "cannot write this file: the picture is made from it",
                       "name another file; nothing was written");
    }
  }
}

}  // namespace

PictureReport write_print(const Scene& scene, const Prediction& prediction,
                          const std::filesystem::path& target, const PictureSettings& settings) {
  refuse_own_files(scene, target, settings);
  const PrintRenderer& renderer = prediction.renderer();
  Encoder encoder(prediction, settings);
  std::optional<Loupe> loupe;
  int width_in = renderer.width(), height_in = renderer.height();
  double ppi = prediction.ppi();
  if (settings.loupe) {
    loupe.emplace(prediction.model().table, prediction.covers(), settings.loupe_settings);
    ppi = settings.loupe->dpi;
    width_in = Loupe::pixels(settings.loupe->width, ppi);
    height_in = Loupe::pixels(settings.loupe->height, ppi);
  }
  PictureReport report;
  report.width = PrintRenderer::scaled(width_in, settings.scale);
  report.height = PrintRenderer::scaled(height_in, settings.scale);
  report.ppi = ppi * settings.scale;

  PictureFormat format;
  format.width = report.width;
  format.height = report.height;
  format.channels = encoder.channels();
  format.bits = settings.bits;
  format.ppi = report.ppi;
  format.threads = settings.threads;
  const std::span<const std::byte> profile = encoder.profile().profile_bytes();
  const auto* bytes = reinterpret_cast<const std::uint8_t*>(profile.data());
  format.icc_profile.assign(bytes, bytes + profile.size());
  format.text = {
      {"Title", printable(scene.title)},
      {"Description", (settings.loupe ? "Predicted print dot by dot on " : "Predicted print on ") +
                          printable(scene.shirt.name) + ", light " + scene.light +
                          (scene.surface_light ? ", surface light included" : ", surface light left out")},
      {"Software", "Kirtle"}};
  const std::unique_ptr<PictureWriter> writer = PictureWriter::open(target, format);

  const Clock::time_point start = Clock::now();
  std::vector<std::uint8_t> codes8;
  std::vector<std::uint16_t> codes16;
  const std::size_t width = static_cast<std::size_t>(report.width);
  const auto take = [&](int, int rows, std::span<const XYZf> xyz) {
    if (settings.bits == 8) {
      encoder.encode(rows, width, xyz, codes8);
    } else {
      encoder.encode(rows, width, xyz, codes16);
    }
    const Clock::time_point write = Clock::now();
    if (settings.bits == 8) {
      writer->write_rows8(codes8);
    } else {
      writer->write_rows16(codes16);
    }
    report.writing_s += seconds_since(write);
  };
  if (loupe) {
    loupe->render(*settings.loupe, settings.scale, settings.threads, settings.progress, take);
  } else {
    renderer.render(settings.scale, settings.threads, settings.progress, take);
  }
  const Clock::time_point end = Clock::now();
  writer->commit();
  report.writing_s += seconds_since(end);
  report.computing_s = seconds_since(start) - report.writing_s;
  encoder.report(report);
  return report;
}

}  // namespace kirtle
