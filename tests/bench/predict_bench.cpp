// The whole of `kirtle predict` on scene 2, files included, against nothing but reading the same plates and
// writing the same picture. Both take turns.
#include "bench/timer.h"
#include "job/read_scene.h"
#include "plate/io/write_picture.h"
#include "predict/picture.h"
#include "predict/prediction.h"

#include <benchmark/benchmark.h>
#include <cstdlib>

namespace kirtle::bench {
namespace {

constexpr int kTimes = 7;

void whole_predict(benchmark::State& state) {
  const std::filesystem::path folder = std::filesystem::temp_directory_path();
  const std::filesystem::path whole = folder / "kirtle-bench-whole.png",
                              alone = folder / "kirtle-bench-alone.png";
  const Scene scene = read_scene(KIRTLE_SOURCE_DIR "/scenes/reef/scene.toml");
  Diagnostics notes;
  PictureSettings settings;
  settings.threads = static_cast<unsigned>(state.range(0));
  setenv("KIRTLE_THREADS", std::to_string(settings.threads).c_str(), 1);  // of reading
  // The picture to write: made once.
  const Prediction once(scene, notes);
  const SrgbEncoder srgb(once.model().table.weights().white);
  std::vector<std::uint8_t> codes;
  once.renderer().render(1, 0, {}, [&](int, int, std::span<const XYZf> xyz) {
    for (const XYZf& c : xyz) {
      const Rgb8 code =
          srgb.encode8({static_cast<double>(c.x), static_cast<double>(c.y), static_cast<double>(c.z)});
      codes.insert(codes.end(), code.begin(), code.end());
    }
  });
  PictureFormat format;
  format.width = once.renderer().width();
  format.height = once.renderer().height();
  format.ppi = once.ppi();
  format.threads = settings.threads;

  Timer predicting, files;
  for (int i = 0; i < kTimes; ++i) {
    predicting.time([&] { write_print(scene, Prediction(scene, notes), whole, settings); });
    files.time([&] {
      benchmark::DoNotOptimize(read_printing_plates(scene, notes));
      const auto writer = PictureWriter::open(alone, format);
      writer->write_rows8(codes);
      writer->commit();
    });
  }
  std::filesystem::remove(whole);
  std::filesystem::remove(alone);
  state.counters["predict_cpu_s"] = predicting.cpu();
  state.counters["predict_wall_s"] = predicting.wall();
  state.counters["files_cpu_s"] = files.cpu();
  state.counters["files_wall_s"] = files.wall();
  for (auto _ : state) {
  }
}
BENCHMARK(whole_predict)->Arg(1)->Arg(2)->Iterations(1);

}  // namespace
}  // namespace kirtle::bench
