// A run of shirts by eye against rendering and filtering each shirt whole, in one process, on one thread.
#include "job/press_plan.h"
#include "job/read_scene.h"
#include "predict/shirt_run.h"

#include <algorithm>
#include <benchmark/benchmark.h>
#include <ctime>
#include <filesystem>
#include <functional>

namespace kirtle {
namespace {

constexpr int kShirts = 12;  // of each measurement, other ones every time

double seconds_of(const std::function<void()>& work) {
  const std::clock_t start = std::clock();  // of the processor, whatever else the machine does
  work();
  return static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC;
}

/// Renders one shirt and filters it: what a run would cost a shirt, the print in register being filtered
/// once.
void whole_shirt(const Scene& scene, const Prediction& in_register, const SeenPicture& seen,
                 const std::vector<RegisterOffset>& passes, const EyeSettings& settings) {
  Scene moved = scene;
  for (std::size_t i = 0; i < moved.passes.size(); ++i) moved.passes[i].offset = passes[i];
  const Prediction shirt(moved, in_register.plate_set());
  const SpatialLab eye = eye_of(in_register, settings);
  benchmark::DoNotOptimize(
      eye.difference(seen, eye.see(shirt_picture(shirt, settings).view(), settings.threads), settings.threads)
          .largest);
}

void run_by_eye(benchmark::State& state, const char* name) {
  const Scene scene = read_scene(std::filesystem::path(KIRTLE_SOURCE_DIR) / "scenes" / name / "scene.toml");
  Diagnostics notes;
  const Prediction prediction(scene, notes);
  const RegisterRun press(register_model(scene));
  EyeSettings settings;
  settings.threads = 1;
  const auto of_plates = [&](std::uint32_t shirt) {
    return plate_offsets(scene, prediction.model(), press.offsets_of(shirt));
  };
  double farthest = 0;
  for (std::uint32_t i = 1; i <= 500; ++i)
    farthest =
        std::max(farthest, farthest_apart(of_plates(i), prediction.width_mm(), prediction.height_mm()));
  std::unique_ptr<RunEye> eye;
  const double preparing_s =
      seconds_of([&] { eye = std::make_unique<RunEye>(scene, prediction, Mm{farthest}, settings); });
  const SeenPicture seen =
      eye_of(prediction, settings).see(shirt_picture(prediction, settings).view(), settings.threads);
  std::uint32_t next = 1;
  for (int i = 0; i < 4; ++i) eye->shirt(of_plates(next++));  // colours that every shirt needs
  double fast_s = 0, whole_s = 0;
  int shirts = 0, whole = 0;
  for (auto _ : state) {
    fast_s += seconds_of([&] {
      for (int i = 0; i < kShirts; ++i) eye->shirt(of_plates(next++));
    });
    shirts += kShirts;
    whole_s += seconds_of([&] { whole_shirt(scene, prediction, seen, press.offsets_of(next), settings); });
    ++whole;
  }
  state.counters["ms_a_shirt"] = 1000 * fast_s / shirts;
  state.counters["ms_whole"] = 1000 * whole_s / whole;
  state.counters["ms_preparing"] = 1000 * preparing_s;
  state.counters["worked_out"] = eye->share_worked_out();
  state.counters["times_faster"] = whole_s / whole / (fast_s / shirts);
  state.counters["times_faster_500"] = 500 * whole_s / whole / (preparing_s + 500 * fast_s / shirts);
}

BENCHMARK_CAPTURE(run_by_eye, moth, "moth")->Unit(benchmark::kMillisecond)->Iterations(2);
BENCHMARK_CAPTURE(run_by_eye, reef, "reef")->Unit(benchmark::kMillisecond)->Iterations(2);

}  // namespace
}  // namespace kirtle
