#include "predict/picture.h"

#include "base/clock.h"
#include "base/parallel.h"
#include "job/own_files.h"
#include "light/srgb_rows.h"
#include "plate/io/write_picture.h"

#include <algorithm>

namespace kirtle {

namespace {

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

  /// Rows over threads.
  template <class Code>
  void encode(int rows, std::size_t width, std::span<const XYZf> xyz, std::vector<Code>& out) {
    const std::size_t samples = width * static_cast<std::size_t>(channels());
    out.resize(samples * static_cast<std::size_t>(rows));
    parallel_for(static_cast<std::size_t>(rows), threads_, [&](std::size_t row, unsigned worker) {
      encode(worker, std::span<const float>(&xyz[row * width].x, 3 * width),
             std::span<Code>(out).subspan(row * samples, samples));
    });
  }

  /// Pixels by one of the threads: std::span<const float> or ColourRuns.
  template <class Colours, class Code>
  void encode(unsigned worker, const Colours& colours, std::span<Code> codes) {
    if (icc_) {
      convert(all_of(colours), codes, &gamuts_[worker]);
    } else if constexpr (sizeof(Code) == 1) {
      srgb_.encode8(colours, codes, &clips_[worker]);
    } else {
      srgb_.encode16(colours, codes, &clips_[worker]);
    }
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
  static std::span<const float> all_of(std::span<const float> xyz) { return xyz; }
  static std::span<const float> all_of(const ColourRuns& colours) {
    colours.fill();
    return colours.xyz;
  }
  void convert(std::span<const float> xyz, std::span<std::uint8_t> codes, GamutReport* report) const {
    icc_->convert8(xyz, codes, report);
  }
  void convert(std::span<const float> xyz, std::span<std::uint16_t> codes, GamutReport* report) const {
    icc_->convert16(xyz, codes, report);
  }

  unsigned threads_;
  SrgbRows srgb_;
  std::optional<IccOutput> icc_, embedded_;
  std::vector<ClipReport> clips_;
  std::vector<GamutReport> gamuts_;
};

/// Renders, encodes and writes all rows; returns the seconds spent writing.
template <class Code>
double write_rows(const Prediction& prediction, const PictureSettings& settings,
                  const std::optional<Loupe>& loupe, Encoder& encoder, PictureWriter& writer) {
  double writing_s = 0;
  std::vector<Code> codes;
  const auto write = [&](std::span<const Code> rows) {
    const Clock::time_point start = Clock::now();
    if constexpr (sizeof(Code) == 1) {
      writer.write_rows8(rows);
    } else {
      writer.write_rows16(rows);
    }
    writing_s += seconds_since(start);
  };
  const PrintRenderer& renderer = prediction.renderer();
  if (!loupe && settings.scale == 1) {
    const std::size_t samples = static_cast<std::size_t>(renderer.width() * encoder.channels());
    const int band = PrintRenderer::band_rows(settings.threads);
    codes.resize(samples * static_cast<std::size_t>(std::min(band, renderer.height())));
    renderer.render_bands(
        settings.threads, settings.progress,
        [&](unsigned worker, int y0, const ColourRuns& colours) {
          encoder.encode(worker, colours,
                         std::span<Code>(codes).subspan(samples * static_cast<std::size_t>(y0 % band),
                                                        samples * static_cast<std::size_t>(colours.rows)));
        },
        [&](int, int rows) {
          write(std::span<const Code>(codes).first(samples * static_cast<std::size_t>(rows)));
        });
    return writing_s;
  }
  const std::size_t width = static_cast<std::size_t>(PrintRenderer::scaled(
      loupe ? Loupe::pixels(settings.loupe->width, settings.loupe->dpi) : renderer.width(), settings.scale));
  const auto take = [&](int, int rows, std::span<const XYZf> xyz) {
    encoder.encode(rows, width, xyz, codes);
    write(codes);
  };
  if (loupe) {
    loupe->render(*settings.loupe, settings.scale, settings.threads, settings.progress, take);
  } else {
    renderer.render(settings.scale, settings.threads, settings.progress, take);
  }
  return writing_s;
}

}  // namespace

PictureReport write_print(const Scene& scene, const Prediction& prediction,
                          const std::filesystem::path& target, const PictureSettings& settings) {
  std::vector<std::filesystem::path> own = own_files(scene);
  if (settings.profile) own.push_back(*settings.profile);
  refuse_own_files(own, std::span(&target, 1), "the picture is");
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
  const double seconds = settings.bits == 8
                             ? write_rows<std::uint8_t>(prediction, settings, loupe, encoder, *writer)
                             : write_rows<std::uint16_t>(prediction, settings, loupe, encoder, *writer);
  report.writing_s = seconds;
  const Clock::time_point end = Clock::now();
  writer->commit();
  report.writing_s += seconds_since(end);
  report.computing_s = seconds_since(start) - report.writing_s;
  encoder.report(report);
  return report;
}

}  // namespace kirtle
