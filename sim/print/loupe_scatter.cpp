#include "print/loupe_scatter.h"

#include "base/check.h"
#include "print/scatter.h"

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>

namespace kirtle {

namespace {

constexpr double kTolerance = 2e-4;
constexpr double kMostReturned = 0.999;
constexpr int kMostRounds = 200;
constexpr double kShortest_um = 8;  // light that goes no further stays where it is (2 % of a dot at 55 lines)
constexpr double kNodeRatio = 1.8;  // between radii that a piece of many grounds is worked out at
constexpr std::size_t kExactRadii = 3;

/// Radii at which light is spread; the first, 0, leaves it where it is. Few are taken as they are, many
/// stand for all between them.
std::vector<double> radii_of(const LoupePiece& piece, std::size_t entry, double shortest) {
  std::vector<double> found;
  for (const LoupeKind* kind : piece.kinds) {
    for (int p = 0; p < kind->parts; ++p) {
      const GroundPart& part =
          kind->ground[entry * static_cast<std::size_t>(kind->parts) + static_cast<std::size_t>(p)];
      const double mean = static_cast<double>(part.mean_um);
      if (mean >= shortest && part.returned > 0) found.push_back(mean);
    }
  }
  std::sort(found.begin(), found.end());
  found.erase(std::unique(found.begin(), found.end()), found.end());
  std::vector<double> radii{0};
  if (found.size() <= kExactRadii) {
    radii.insert(radii.end(), found.begin(), found.end());
    return radii;
  }
  const double lo = found.front(), hi = found.back();
  const int steps = std::max(1, static_cast<int>(std::ceil(std::log(hi / lo) / std::log(kNodeRatio))));
  for (int i = 0; i <= steps; ++i)
    radii.push_back(i == steps ? hi : lo * std::pow(hi / lo, i / static_cast<double>(steps)));
  return radii;
}

/// sqrt(rho_n) of every kind at every radius: [radius][kind].
std::vector<std::vector<float>> roots_of(const LoupePiece& piece, std::size_t at,
                                         const std::vector<double>& radii) {
  std::vector<std::vector<double>> rho(radii.size(), std::vector<double>(piece.kinds.size(), 0.0));
  for (std::size_t k = 0; k < piece.kinds.size(); ++k) {
    const LoupeKind& kind = *piece.kinds[k];
    for (std::size_t p = 0; p < static_cast<std::size_t>(kind.parts); ++p) {
      const GroundPart& part = kind.ground[at * static_cast<std::size_t>(kind.parts) + p];
      const double mean = static_cast<double>(part.mean_um), returned = static_cast<double>(part.returned);
      const auto above = std::upper_bound(radii.begin() + 1, radii.end(), mean);
      if (above == radii.begin() + 1) {
        rho[0][k] += returned;
      } else if (above == radii.end()) {
        rho.back()[k] += returned;
      } else {
        const auto n = static_cast<std::size_t>(above - radii.begin());
        const double t = std::log(mean / radii[n - 1]) / std::log(radii[n] / radii[n - 1]);
        rho[n - 1][k] += returned * (1 - t);
        rho[n][k] += returned * t;
      }
    }
  }
  std::vector<std::vector<float>> root;
  for (const std::vector<double>& r : rho) {
    root.emplace_back();
    for (const double v : r) root.back().push_back(static_cast<float>(std::sqrt(std::max(v, 0.0))));
  }
  return root;
}

/// Spread by one radius: the transform in the packed order of a real transform (opencv: CCS).
class Spread {
 public:
  Spread(int width, int height, double pitch_um, double mean_um) : packed_(height, width, CV_32F) {
    for (int y = 0; y < height; ++y) {
      for (int x = 0; x < width; ++x) {
        const bool edge = x == 0 || (x == width - 1 && width % 2 == 0);
        const int kx = edge ? (x == 0 ? 0 : width / 2) : (x + 1) / 2;
        const int ky = edge ? (y + 1) / 2 : std::min(y, height - y);
        packed_.at<float>(y, x) = static_cast<float>(
            scatter_transfer(std::hypot(kx / (width * pitch_um), ky / (height * pitch_um)), mean_um));
      }
    }
  }
  void apply(cv::Mat& image) const {
    cv::dft(image, image, 0);
    cv::multiply(image, packed_, image);
    cv::dft(image, image, cv::DFT_INVERSE | cv::DFT_SCALE | cv::DFT_REAL_OUTPUT);
  }

 private:
  cv::Mat packed_;
};

/// One band of one fibre: light followed until it stands still.
class BandSolver {
 public:
  /// entry: index of band and fibre in the kinds.
  BandSolver(const LoupePiece& piece, std::size_t entry)
      : piece_(piece), entry_(entry), n_(piece.kind.size()) {
    const double shortest = std::max(kShortest_um, 0.25 * piece.pitch_um);
    const std::vector<double> radii = radii_of(piece, entry, shortest);
    roots_ = roots_of(piece, entry, radii);
    for (std::size_t r = 1; r < radii.size(); ++r)
      spreads_.emplace_back(piece.width, piece.height, piece.pitch_um, radii[r]);
    double most_ground = 0, most_back = 0;
    for (std::size_t k = 0; k < piece.kinds.size(); ++k) {
      double rg = 0;
      for (const std::vector<float>& root : roots_)
        rg += static_cast<double>(root[k]) * static_cast<double>(root[k]);
      most_ground = std::max(most_ground, rg);
      most_back = std::max(most_back, static_cast<double>(piece.kinds[k]->bands[entry].back));
    }
    returned_ = std::min(most_back * most_ground, kMostReturned);
  }

  /// Nothing goes sideways here.
  bool idle() const { return spreads_.empty(); }

  /// u at every pixel.
  const std::vector<float>& solve() {
    const std::size_t kinds = piece_.kinds.size();
    std::vector<float> through(kinds), back(kinds), still(kinds), start(kinds);
    for (std::size_t k = 0; k < kinds; ++k) {
      const LoupeKind::Band& b = piece_.kinds[k]->bands[entry_];
      through[k] = b.through;
      back[k] = b.back;
      still[k] = roots_[0][k] * roots_[0][k];
      start[k] = b.through + b.back * b.up;  // what each pile would do by itself
    }
    std::vector<float> down(n_);
    up_.assign(n_, 0.0F);
    for (std::size_t i = 0; i < n_; ++i) down[i] = start[piece_.kind[i]];
    const double settled = returned_ > 0 ? kTolerance * (1 - returned_) / returned_ : 1;
    cv::Mat image(piece_.height, piece_.width, CV_32F);
    for (int round = 0; round < kMostRounds; ++round) {
      for (std::size_t i = 0; i < n_; ++i) up_[i] = still[piece_.kind[i]] * down[i];
      for (std::size_t r = 0; r < spreads_.size(); ++r) {
        const std::vector<float>& root = roots_[r + 1];
        auto* p = image.ptr<float>();
        for (std::size_t i = 0; i < n_; ++i) p[i] = root[piece_.kind[i]] * down[i];
        spreads_[r].apply(image);
        p = image.ptr<float>();
        for (std::size_t i = 0; i < n_; ++i) up_[i] += root[piece_.kind[i]] * p[i];
      }
      double sum = 0;
      for (std::size_t i = 0; i < n_; ++i) {
        const float next = through[piece_.kind[i]] + back[piece_.kind[i]] * up_[i];
        const double step = static_cast<double>(next) - static_cast<double>(down[i]);
        sum += step * step;
        down[i] = next;
      }
      if (std::sqrt(sum / static_cast<double>(n_)) <= settled) break;
    }
    return up_;
  }

 private:
  const LoupePiece& piece_;
  std::size_t entry_, n_;
  std::vector<std::vector<float>> roots_;
  std::vector<Spread> spreads_;
  double returned_ = 0;  ///< at most this much of the light of one round goes round once more
  std::vector<float> up_;
};

}  // namespace

std::vector<int> loupe_bands(int step) {
  std::vector<int> out;
  for (int b = step / 2; b < static_cast<int>(kBands); b += step) out.push_back(b);
  return out;
}

void add_scatter(const LoupePiece& piece, std::span<const double> fibre_shares, std::span<XYZf> xyz) {
  KIRTLE_CHECK(xyz.size(), ==, piece.kind.size());
  const std::size_t entries = piece.kinds.front()->bands.size(), bands = entries / fibre_shares.size();
  for (std::size_t entry = 0; entry < entries; ++entry) {
    BandSolver solver(piece, entry);
    if (solver.idle()) continue;
    const std::vector<float>& up = solver.solve();
    const auto share = static_cast<float>(fibre_shares[entry / bands]);
    for (std::size_t i = 0; i < up.size(); ++i) {
      const LoupeKind::Band& own = piece.kinds[piece.kind[i]]->bands[entry];
      const float more = share * (up[i] - own.up);
      xyz[i].x += own.xyz[0] * more;
      xyz[i].y += own.xyz[1] * more;
      xyz[i].z += own.xyz[2] * more;
    }
  }
}

}  // namespace kirtle
