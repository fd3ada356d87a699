#pragma once
// Printed charts, and a prediction of all their patches from solids and single-ink ramps alone.
#include "print/mixing.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <optional>
#include <sstream>
#include <string>
#include <vector>

namespace kirtle::test {

constexpr int kInks = 4;

struct Patch {
  std::array<double, kInks> ink{};  ///< 0..1 as sent to the output
  std::vector<double> value;        ///< XYZ, or reflectance per band
};

/// Patches of a CGATS.17 table: columns CMYK_C.. in per cent, and `count` columns from the one named.
inline std::vector<Patch> read_chart(const std::filesystem::path& path, const std::string& first,
                                     std::size_t count) {
  std::ifstream in(path);
  std::vector<Patch> patches;
  std::size_t ink_at = 0, value_at = 0;
  std::string line;
  enum { head, format, data } part = head;
  while (std::getline(in, line)) {
    std::istringstream words(line);
    const std::vector<std::string> w{std::istream_iterator<std::string>(words), {}};
    if (w.empty()) continue;
    if (w[0] == "BEGIN_DATA_FORMAT") {
      part = format;
    } else if (w[0] == "BEGIN_DATA") {
      part = data;
    } else if (w[0].starts_with("END_DATA")) {
      part = head;
    } else if (part == format) {
      ink_at = static_cast<std::size_t>(std::find(w.begin(), w.end(), "CMYK_C") - w.begin());
      value_at = static_cast<std::size_t>(std::find(w.begin(), w.end(), first) - w.begin());
    } else if (part == data) {
      Patch patch;
      for (int i = 0; i < kInks; ++i) patch.ink[i] = std::stod(w.at(ink_at + i)) / 100;
      for (std::size_t i = 0; i < count; ++i) patch.value.push_back(std::stod(w.at(value_at + i)));
      patches.push_back(patch);
    }
  }
  return patches;
}

enum class Curves { one_an_ink, one_an_ink_and_channel };

/// Neugebauer mixing with the exponent n (Yule, Nielsen 1951; Viggiano 1985), fed with the solids and the
/// ramps of one ink at a time; no other patch is looked at.
class RampModel {
 public:
  RampModel(const std::vector<Patch>& patches, double n, Curves curves)
      : n_(n), channels_(patches[0].value.size()) {
    std::array<int, 1 << kInks> found{};
    std::array<std::map<double, std::vector<double>>, kInks> ramps;
    corner_.assign(1 << kInks, {});
    for (const Patch& p : patches) {
      std::size_t solid = 0;
      int printed = 0, tints = 0, ink = 0;
      for (int i = 0; i < kInks; ++i) {
        if (p.ink[i] == 1) solid |= std::size_t{1} << i;
        if (p.ink[i] > 0) ++printed, ink = i;
        if (p.ink[i] > 0 && p.ink[i] < 1) ++tints;
      }
      if (tints == 0) {
        corner_[solid].resize(channels_);
        ++found[solid];
        for (std::size_t c = 0; c < channels_; ++c) {
          corner_[solid][c] += (p.value[c] - corner_[solid][c]) / found[solid];  // mean of repeats
        }
      } else if (printed == 1) {
        ramps[ink][p.ink[ink]] = p.value;
      }
    }
    for (int i = 0; i < kInks; ++i) {
      const std::vector<double>& paper = corner_[0];
      const std::vector<double>& full = corner_[std::size_t{1} << i];
      curve_[i].assign(channels_, {{0.0, 0.0}});
      for (const auto& [asked, value] : ramps[i]) {
        // Coverage in each channel, and over all, weighted by how much the ink darkens each.
        std::vector<double> a(channels_);
        double weight = 0, sum = 0;
        for (std::size_t c = 0; c < channels_; ++c) {
          const double range = root(paper[c]) - root(full[c]);
          a[c] = range > 0 ? std::clamp((root(paper[c]) - root(value[c])) / range, 0.0, 1.0) : 0.0;
          weight += range * range;
          sum += range * range * a[c];
        }
        for (std::size_t c = 0; c < channels_; ++c) {
          const double covered = curves == Curves::one_an_ink ? sum / weight : a[c];
          curve_[i][c].emplace_back(asked, std::max(covered, curve_[i][c].back().second));
        }
      }
      for (auto& curve : curve_[i]) curve.emplace_back(1.0, 1.0);
    }
  }

  /// Nothing where a solid that the patch needs was not printed.
  std::optional<std::vector<double>> predict(const std::array<double, kInks>& ink) const {
    std::vector<double> out(channels_), a(kInks), v(corner_.size());
    for (std::size_t c = 0; c < channels_; ++c) {
      for (int i = 0; i < kInks; ++i) a[i] = covered(curve_[i][c], ink[i]);
      const std::vector<double> w = demichel(a);
      for (std::size_t k = 0; k < w.size(); ++k) {
        if (w[k] > 0 && corner_[k].empty()) return {};
        v[k] = w[k] > 0 ? corner_[k][c] : 0;
      }
      out[c] = yule_nielsen(w, v, n_);
    }
    return out;
  }

 private:
  using Curve = std::vector<std::pair<double, double>>;  // asked, covered; both rising

  double root(double v) const { return std::pow(v, 1 / n_); }

  static double covered(const Curve& curve, double asked) {
    const auto hi = std::lower_bound(curve.begin(), curve.end(), asked,
                                     [](const auto& node, double x) { return node.first < x; });
    if (hi->first == asked) return hi->second;
    const auto lo = hi - 1;
    return lo->second + (hi->second - lo->second) * (asked - lo->first) / (hi->first - lo->first);
  }

  double n_;
  std::size_t channels_;
  std::vector<std::vector<double>> corner_;  ///< by solid inks, bit i = ink i; empty: not in the chart
  std::array<std::vector<Curve>, kInks> curve_;
};

}  // namespace kirtle::test
