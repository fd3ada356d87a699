// The print at arm's length, plates in memory to sRGB in memory, against its peers. In every iteration ours
// and each peer take their turn, so that what else the machine does hits all of them; the counters are
// medians.
#include "base/parallel.h"
#include "bench/peers.h"
#include "bench/timer.h"
#include "light/srgb_rows.h"

#include <algorithm>
#include <benchmark/benchmark.h>

namespace kirtle::bench {
namespace {

constexpr int kWidth = 4200, kHeight = 4800;
constexpr int kNoiseHeight = 600;  // noise is alike everywhere: times are per pixel
constexpr int kTimes = 9;
constexpr int kSpectralRows = 4;

void render_ours(const BenchPrint& print, const SrgbRows& srgb, unsigned threads, std::uint8_t* out) {
  const std::size_t row = 3 * static_cast<std::size_t>(print.width());
  std::vector<ClipReport> reports(threads);
  print.prediction.renderer().render_bands(
      threads, {},
      [&](unsigned worker, int y0, const ColourRuns& colours) {
        srgb.encode8(colours,
                     {out + row * static_cast<std::size_t>(y0), row * static_cast<std::size_t>(colours.rows)},
                     &reports[worker]);
      },
      [](int, int) {});
}

/// In pieces of rows over threads, as a program would.
template <class Peer>
void render_peer(const Peer& peer, int rows, unsigned threads, std::uint8_t* out, int width) {
  constexpr int kPiece = 8;
  parallel_for(static_cast<std::size_t>((rows + kPiece - 1) / kPiece), threads, [&](std::size_t i, unsigned) {
    const int y0 = static_cast<int>(i) * kPiece;
    peer.render(y0, std::min(kPiece, rows - y0),
                out + 3 * static_cast<std::size_t>(y0) * static_cast<std::size_t>(width));
  });
}

void arms_length(benchmark::State& state, Content content, int plates) {
  const BenchPrint print(content, plates, kWidth, content == Content::flat ? kHeight : kNoiseHeight);
  const SrgbRows srgb(print.prediction.model().table.weights().white);
  std::vector<std::uint8_t> out(3 * print.pixels());
  const bool table = plates <= 6, spectral = plates <= 6 && content != Content::noise16;
  std::unique_ptr<TablePeer> table_peer;
  std::unique_ptr<SpectralPeer> spectral_peer;
  if (table) table_peer = std::make_unique<TablePeer>(print);
  if (spectral) spectral_peer = std::make_unique<SpectralPeer>(print);
  CopyPeer copy_peer(print.plate_bytes() + out.size());
  render_ours(print, srgb, 2, out.data());  // every overprint met once, every buffer touched
  copy_peer.copy(2);
  for (const unsigned threads : {1u, 2u}) {
    Timer ours, by_table, by_spectra, copy;
    for (int i = 0; i < kTimes; ++i) {
      ours.time([&] { render_ours(print, srgb, threads, out.data()); });
      copy.time([&] { copy_peer.copy(threads); });
      if (table)
        by_table.time([&] { render_peer(*table_peer, print.height(), threads, out.data(), kWidth); });
      if (!spectral) continue;
      by_spectra.time([&] {
        // Rows from all over the print; these few are worked out in the time of the others.
        parallel_for(kSpectralRows * threads, threads, [&](std::size_t row, unsigned) {
          const int y = static_cast<int>((2 * row + 1) * static_cast<std::size_t>(print.height()) /
                                         (2 * kSpectralRows * threads));
          spectral_peer->render(y, 1, out.data() + 3 * kWidth * static_cast<std::size_t>(y));
        });
      });
    }
    const auto put = [&](const char* who, Timer& t, double pixels) {
      const std::string key = std::string(who) + "_" + std::to_string(threads);
      state.counters[key + "_wall_ns"] = 1e9 * t.wall() / pixels;
      state.counters[key + "_cpu_ns"] = 1e9 * t.cpu() / pixels;
    };
    const auto all = static_cast<double>(print.pixels());
    put("ours", ours, all);
    put("copy", copy, all);
    if (table) put("table", by_table, all);
    if (spectral) put("spectral", by_spectra, kSpectralRows * threads * kWidth);
  }
  const Likeness likeness = likeness_of(print);
  state.counters["fractional"] = likeness.fractional;
  state.counters["as_neighbour"] = likeness.as_neighbour;
  for (auto _ : state) {
  }
}

void name(const char* text, Content content, std::initializer_list<int> plates) {
  for (const int n : plates) {
    benchmark::RegisterBenchmark((std::string("arms_length/") + text + "/" + std::to_string(n)).c_str(),
                                 [content, n](benchmark::State& state) { arms_length(state, content, n); })
        ->Iterations(1);
  }
}

const bool registered = [] {
  name("flat", Content::flat, {2, 4, 6, 12});
  name("noise8", Content::noise8, {2, 4, 6});
  name("noise16", Content::noise16, {2, 4});
  return true;
}();

}  // namespace
}  // namespace kirtle::bench
