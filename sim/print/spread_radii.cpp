#include "print/spread_radii.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace kirtle {

namespace {
constexpr double kNodeRatio = 1.45;   // between nodes
constexpr double kLongest_um = 3000;  // waves that count
constexpr int kFrequencies = 200;
}  // namespace

SpreadRadii::SpreadRadii(std::vector<double> radii, double pitch_um) : nodes_(std::move(radii)) {
  std::sort(nodes_.begin(), nodes_.end());
  nodes_.erase(std::unique(nodes_.begin(), nodes_.end()), nodes_.end());
  const double lo = nodes_.front(), hi = nodes_.back();
  const int steps = 1 + static_cast<int>(std::ceil(std::log(hi / lo) / std::log(kNodeRatio)));
  if (nodes_.size() > static_cast<std::size_t>(steps) + 1) {
    nodes_.clear();
    for (int i = 0; i <= steps; ++i) nodes_.push_back(lo * std::pow(hi / lo, i / static_cast<double>(steps)));
  }
  const double lowest = 2 * std::numbers::pi / kLongest_um,
               highest = std::numbers::sqrt2 * std::numbers::pi / pitch_um;
  double sum = 0;
  for (int i = 0; i < kFrequencies; ++i) {
    const double f = lowest * std::pow(highest / lowest, (i + 0.5) / kFrequencies);
    frequency_.push_back(f * f);
    weight_.push_back(1 / f);
    sum += 1 / f;
  }
  for (double& w : weight_) w /= sum;
  const std::size_t n = nodes_.size();
  for (const double node : nodes_) changes_.push_back(changes_of(node));
  root_ = Rows(n, n);
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j <= i; ++j) {
      double left = moment(changes_[i], changes_[j]);
      if (i == j) left *= 1 + 1e-13;  // nodes are nearly alike
      for (std::size_t k = 0; k < j; ++k) left -= root_[i][k] * root_[j][k];
      root_[i][j] = i == j ? std::sqrt(std::max(left, 1e-15)) : left / root_[j][j];
    }
  }
}

std::vector<double> SpreadRadii::changes_of(double mean_um) const {
  std::vector<double> out;
  for (const double f2 : frequency_) out.push_back(1 / std::sqrt(1 + f2 * mean_um * mean_um) - 1);
  return out;
}

double SpreadRadii::moment(const std::vector<double>& a, const std::vector<double>& b) const {
  double sum = 0;
  for (std::size_t i = 0; i < weight_.size(); ++i) sum += weight_[i] * a[i] * b[i];
  return sum;
}

std::vector<double> SpreadRadii::weights(double mean_um) const {
  const std::size_t n = nodes_.size();
  std::vector<double> out(n, 0.0);
  if (const auto same = std::find(nodes_.begin(), nodes_.end(), mean_um); same != nodes_.end()) {
    out[static_cast<std::size_t>(same - nodes_.begin())] = 1;
    return out;
  }
  const std::vector<double> change = changes_of(mean_um);
  for (std::size_t i = 0; i < n; ++i) {
    out[i] = moment(changes_[i], change);
    for (std::size_t k = 0; k < i; ++k) out[i] -= root_[i][k] * out[k];
    out[i] /= root_[i][i];
  }
  from_lengths(out.data());
  return out;
}

void SpreadRadii::to_lengths(double* weights) const {
  const std::size_t n = nodes_.size();
  for (std::size_t k = 0; k < n; ++k) {  // weights times the lower root
    double sum = 0;
    for (std::size_t i = k; i < n; ++i) sum += weights[i] * root_[i][k];
    weights[k] = sum;
  }
}

void SpreadRadii::from_lengths(double* coordinates) const {
  for (std::size_t i = nodes_.size(); i-- > 0;) {
    for (std::size_t k = i + 1; k < nodes_.size(); ++k) coordinates[i] -= root_[k][i] * coordinates[k];
    coordinates[i] /= root_[i][i];
  }
}

}  // namespace kirtle
