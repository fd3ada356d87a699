#include "print/loupe_scatter.h"

#include "base/check.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <opencv2/core.hpp>

namespace kirtle {

namespace {

constexpr double kTolerance = 2e-4;
constexpr double kMostReturned = 0.999;
constexpr int kMostRounds = 200;
constexpr double kShortest_um = 8;  // light that goes no further stays where it is (2 % of a dot at 55 lines)
constexpr double kNodeRatio = 1.8;  // between radii that a piece of many grounds is worked out at
constexpr std::size_t kExactRadii = 3;

/// A mean radius at which light is spread, and sqrt(rho) of every kind there.
struct Node {
  double mean_um = 0;  ///< 0: light that stays where it is
  bool film = false;   ///< light of films, else of cloth
  std::vector<float> root;
};

const GroundPart& part_of(const LoupeKind& kind, std::size_t entry, std::size_t part) {
  return kind.ground[entry * kind.parts + part];
}

/// Radii for the cloth or for the films of a piece, rising. Few are taken as they are, many stand for all
/// between them.
std::vector<double> radii_of(const LoupePiece& piece, std::size_t entry, bool film, double shortest) {
  std::vector<double> found;
  for (const LoupeKind& kind : piece.kinds) {
    for (std::size_t p = film ? 1 : 0; p < (film ? kind.parts : 1); ++p) {
      const GroundPart& part = part_of(kind, entry, p);
      const double mean = static_cast<double>(part.mean_um);
      if (mean >= shortest && part.returned > 0) found.push_back(mean);
    }
  }
  std::sort(found.begin(), found.end());
  found.erase(std::unique(found.begin(), found.end()), found.end());
  if (found.size() <= kExactRadii) return found;
  const double lo = found.front(), hi = found.back();
  const int steps = std::max(1, static_cast<int>(std::ceil(std::log(hi / lo) / std::log(kNodeRatio))));
  std::vector<double> radii;
  for (int i = 0; i < steps; ++i) radii.push_back(lo * std::pow(hi / lo, i / static_cast<double>(steps)));
  radii.push_back(hi);
  return radii;
}

/// Adds nodes for the cloth or for the films, and what they return; `still` gets what stays where it is.
void add_nodes(const LoupePiece& piece, std::size_t entry, bool film, double shortest,
               std::vector<Node>& nodes, std::vector<float>& still) {
  const std::vector<double> radii = radii_of(piece, entry, film, shortest);
  std::vector<std::vector<double>> rho(radii.size(), std::vector<double>(piece.kinds.size(), 0.0));
  for (std::size_t k = 0; k < piece.kinds.size(); ++k) {
    const LoupeKind& kind = piece.kinds[k];
    for (std::size_t p = film ? 1 : 0; p < (film ? kind.parts : 1); ++p) {
      const GroundPart& part = part_of(kind, entry, p);
      const double mean = static_cast<double>(part.mean_um), returned = static_cast<double>(part.returned);
      const auto n =
          static_cast<std::size_t>(std::upper_bound(radii.begin(), radii.end(), mean) - radii.begin());
      if (mean < shortest || n == 0) {
        still[k] += part.returned;
      } else if (n == radii.size()) {
        rho.back()[k] += returned;
      } else {
        const double t = std::log(mean / radii[n - 1]) / std::log(radii[n] / radii[n - 1]);
        rho[n - 1][k] += returned * (1 - t);
        rho[n][k] += returned * t;
      }
    }
  }
  for (std::size_t n = 0; n < radii.size(); ++n) {
    nodes.push_back({radii[n], film, {}});
    for (const double r : rho[n])
      nodes.back().root.push_back(static_cast<float>(std::sqrt(std::max(r, 0.0))));
  }
}

/// Squares of the frequencies, in the packed order of a real transform (opencv: CCS), times (2 pi)^2; 1/um^2.
cv::Mat packed_frequencies(const LoupePiece& piece) {
  const int width = piece.width, height = piece.height;
  cv::Mat out(height, width, CV_32F);
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      const bool edge = x == 0 || (x == width - 1 && width % 2 == 0);
      const int kx = edge ? (x == 0 ? 0 : width / 2) : (x + 1) / 2;
      const int ky = edge ? (y + 1) / 2 : std::min(y, height - y);
      const double fx = 2 * std::numbers::pi * kx / (width * piece.pitch_um),
                   fy = 2 * std::numbers::pi * ky / (height * piece.pitch_um);
      out.at<float>(y, x) = static_cast<float>(fx * fx + fy * fy);
    }
  }
  return out;
}

/// Spreads an image by one radius, with the transform of scatter.h.
void spread(cv::Mat& image, const cv::Mat& frequencies, double mean_um) {
  cv::dft(image, image, 0);
  const auto squared = static_cast<float>(mean_um * mean_um);
  auto* p = image.ptr<float>();
  const auto* f = frequencies.ptr<float>();
  const std::size_t n = image.total();
  for (std::size_t i = 0; i < n; ++i) p[i] /= std::sqrt(1.0F + squared * f[i]);
  cv::dft(image, image, cv::DFT_INVERSE | cv::DFT_SCALE | cv::DFT_REAL_OUTPUT);
}

/// One band of one fibre: light followed until it stands still.
class BandSolver {
 public:
  /// entry: index of band and fibre in the kinds.
  BandSolver(const LoupePiece& piece, std::size_t entry, const cv::Mat& frequencies)
      : piece_(piece), frequencies_(frequencies), entry_(entry), still_(piece.kinds.size(), 0.0F) {
    const double shortest = std::max(kShortest_um, 0.25 * piece.pitch_um);
    add_nodes(piece, entry, false, shortest, nodes_, still_);
    add_nodes(piece, entry, true, shortest, nodes_, still_);
    double most_ground = 0, most_back = 0;
    for (std::size_t k = 0; k < piece.kinds.size(); ++k) {
      double rg = static_cast<double>(still_[k]);
      for (const Node& node : nodes_)
        rg += static_cast<double>(node.root[k]) * static_cast<double>(node.root[k]);
      most_ground = std::max(most_ground, rg);
      most_back = std::max(most_back, static_cast<double>(piece.kinds[k].bands[entry].back));
    }
    returned_ = std::min(most_back * most_ground, kMostReturned);
  }

  /// Nothing goes sideways here.
  bool idle() const { return nodes_.empty(); }

  /// u at every pixel.
  std::vector<float> solve() const {
    const std::size_t kinds = piece_.kinds.size(), n = piece_.kind.size();
    const std::uint32_t* kind = piece_.kind.data();
    std::vector<float> through(kinds), back(kinds), start(kinds);
    for (std::size_t k = 0; k < kinds; ++k) {
      const LoupeKind::Band& b = piece_.kinds[k].bands[entry_];
      through[k] = b.through;
      back[k] = b.back;
      start[k] = b.through + b.back * b.up;  // what each pile would do by itself
    }
    std::vector<float> up(n), down(n), stays(n);
    for (std::size_t i = 0; i < n; ++i) {
      down[i] = start[kind[i]];
      stays[i] = still_[kind[i]];
    }
    cv::Mat image(piece_.height, piece_.width, CV_32F);
    for (const Node& node : nodes_) {
      if (!node.film) continue;
      auto* p = image.ptr<float>();
      for (std::size_t i = 0; i < n; ++i) p[i] = node.root[kind[i]];
      spread(image, frequencies_, node.mean_um);
      p = image.ptr<float>();
      for (std::size_t i = 0; i < n; ++i) {
        const float root = node.root[kind[i]];
        stays[i] += root * (root - p[i]);
      }
    }
    const double settled = returned_ > 0 ? kTolerance * (1 - returned_) / returned_ : 1;
    for (int round = 0; round < kMostRounds; ++round) {
      for (std::size_t i = 0; i < n; ++i) up[i] = stays[i] * down[i];
      for (const Node& node : nodes_) {
        auto* p = image.ptr<float>();
        for (std::size_t i = 0; i < n; ++i) p[i] = node.root[kind[i]] * down[i];
        spread(image, frequencies_, node.mean_um);
        p = image.ptr<float>();
        for (std::size_t i = 0; i < n; ++i) up[i] += node.root[kind[i]] * p[i];
      }
      double sum = 0;
      for (std::size_t i = 0; i < n; ++i) {
        const float next = through[kind[i]] + back[kind[i]] * up[i];
        const double step = static_cast<double>(next) - static_cast<double>(down[i]);
        sum += step * step;
        down[i] = next;
      }
      if (std::sqrt(sum / static_cast<double>(n)) <= settled) break;
    }
    return up;
  }

 private:
  const LoupePiece& piece_;
  const cv::Mat& frequencies_;
  std::size_t entry_;
  std::vector<Node> nodes_;
  std::vector<float> still_;  ///< of every kind: returned where it came in
  double returned_ = 0;       ///< at most this much of the light of one round goes round once more
};

}  // namespace

std::vector<int> loupe_bands(int step) {
  std::vector<int> out;
  for (int b = step / 2; b < static_cast<int>(kBands); b += step) out.push_back(b);
  return out;
}

void add_scatter(const LoupePiece& piece, std::span<const double> fibre_shares, std::span<XYZf> xyz) {
  KIRTLE_CHECK(xyz.size(), ==, piece.kind.size());
  const std::size_t entries = piece.kinds.front().bands.size(), bands = entries / fibre_shares.size();
  const cv::Mat frequencies = packed_frequencies(piece);
  struct Own {
    float up, x, y, z;
  };
  std::vector<Own> own(piece.kinds.size());
  for (std::size_t entry = 0; entry < entries; ++entry) {
    const BandSolver solver(piece, entry, frequencies);
    if (solver.idle()) continue;
    const std::vector<float> up = solver.solve();
    const auto share = static_cast<float>(fibre_shares[entry / bands]);
    for (std::size_t k = 0; k < own.size(); ++k) {
      const LoupeKind::Band& b = piece.kinds[k].bands[entry];
      own[k] = {b.up, share * b.xyz[0], share * b.xyz[1], share * b.xyz[2]};
    }
    for (std::size_t i = 0; i < up.size(); ++i) {
      const Own& o = own[piece.kind[i]];
      const float more = up[i] - o.up;
      xyz[i].x += o.x * more;
      xyz[i].y += o.y * more;
      xyz[i].z += o.z * more;
    }
  }
}

}  // namespace kirtle
