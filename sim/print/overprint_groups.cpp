// What an overprint table settles once: which plates share a screen, and the doses at which a soaked plate is
// worked out.
#include "light/delta_e_2000.h"
#include "print/overprint_table.h"
#include "screen/threshold.h"

#include <algorithm>
#include <cmath>
#include <map>

namespace kirtle {

namespace {

/// A field's levels are split until mixing between neighbours is this close to the direct evaluation.
constexpr double kLevelDe00 = 0.1;
constexpr std::size_t kMostLevels = 24;

/// Round, square and inverting dots are the same lattice every 90 degrees, lines and ellipses every 180.
bool same_angle(const HalftoneScreen& a, const HalftoneScreen& b) {
  const bool half_turn = a.shape == DotShape::line || a.shape == DotShape::elliptical;
  const double turn = half_turn ? 180.0 : 90.0;
  return std::abs(std::remainder(a.angle_deg - b.angle_deg, turn)) < 1e-9;
}

/// Whether the overlap of two plates' tints hangs on the register.
bool dots_on_dots(const PlateDots& a, const PlateDots& b) {
  const bool lattice = a.halftone.shape != DotShape::noise;  // dots of noise fall independently
  return lattice && !a.field && !b.field && a.halftone.lpi == b.halftone.lpi &&
         same_angle(a.halftone, b.halftone) && a.halftone.shape == b.halftone.shape;
}

}  // namespace

void OverprintTable::find_groups() {
  std::vector<bool> apart(plates_.size(), false);
  for (std::size_t i = 0; i < plates_.size(); ++i) {
    for (std::size_t j = 0; j < i && group_[i] < 0; ++j) {
      if (!dots_on_dots(plates_[i], plates_[j])) continue;
      if (group_[j] < 0) group_[j] = static_cast<int>(j);
      group_[i] = group_[j];
      const PlateDots& first = plates_[group_[i]];
      if (plates_[i].offset_x != first.offset_x || plates_[i].offset_y != first.offset_y)
        apart[group_[i]] = true;
    }
  }
  joint_.resize(plates_.size());
  for (std::size_t group = 0; group < plates_.size(); ++group) {
    if (!apart[group]) continue;
    const PlateDots& first = plates_[group];
    const ScreenAxes axes(first.halftone);
    std::vector<DotShift> shifts;
    for (const PlateDots& plate : plates_) {
      const double x = plate.offset_x.v - first.offset_x.v, y = plate.offset_y.v - first.offset_y.v;
      const bool member = dots_on_dots(plate, first);
      shifts.push_back(member ? DotShift{axes.u(x, y), axes.v(x, y)} : DotShift{});
    }
    joint_[group] = std::make_unique<JointCover>(first.halftone.shape, shifts);
  }
}

void OverprintTable::choose_levels(int plate) {
  // Wherever the error of mixing two neighbouring levels is worst, alone on the shirt, with all other plates
  // solid or with any one of them solid (a tint shows over discharge that a third ink would hide), a level is
  // put between them.
  std::vector<double>& levels = levels_[plate];
  std::vector<std::vector<double>> company{std::vector<double>(plates_.size(), 0.0)};
  if (plates_.size() > 2) company.emplace_back(plates_.size(), 1.0);
  for (std::size_t other = 0; other < plates_.size(); ++other) {
    if (other == static_cast<std::size_t>(plate)) continue;
    company.push_back(company.front());
    company.back()[other] = 1;
  }
  const auto at = [&](std::vector<double> dose, double level) {
    dose[plate] = level;
    return stack_.at(dose);
  };
  // A level ends two stretches, and each of them is split again: it is worked out once.
  struct Level {
    Overprint print;
    Spectrum mean;
  };
  std::vector<std::map<double, Level>> known(company.size());
  const auto level_of = [&](std::size_t c, double level) -> const Level& {
    const auto it = known[c].find(level);
    if (it != known[c].end()) return it->second;
    Overprint print = at(company[c], level);
    const Spectrum mean = mean_reflectance(print);
    return known[c].emplace(level, Level{std::move(print), mean}).first->second;
  };
  const auto error = [&](double lo, double hi) {
    double worst = 0;
    for (std::size_t c = 0; c < company.size(); ++c) {
      const Level &p = level_of(c, lo), &q = level_of(c, hi);
      const Spectrum pq = pair_form_.pair(p.print, q.print, {plate});
      for (const double t : {0.3, 0.6}) {
        const Spectrum mixed = (1 - t) * (1 - t) * p.mean + 2 * t * (1 - t) * pq + t * t * q.mean;
        const Spectrum direct = mean_reflectance(at(company[c], lo + t * (hi - lo)));
        worst = std::max(worst, delta_e_2000(lab_from_reflectance(mixed, settings_.weights),
                                             lab_from_reflectance(direct, settings_.weights)));
      }
    }
    return worst;
  };
  std::vector<double> errors{error(0, 1)};
  while (levels.size() < kMostLevels) {
    const auto worst = std::max_element(errors.begin(), errors.end());
    if (*worst < kLevelDe00) return;
    const auto i = static_cast<std::size_t>(worst - errors.begin());
    const double mid = 0.5 * (levels[i] + levels[i + 1]);
    errors[i] = error(levels[i], mid);
    errors.insert(worst + 1, error(mid, levels[i + 1]));
    levels.insert(levels.begin() + static_cast<std::ptrdiff_t>(i) + 1, mid);
  }
}

}  // namespace kirtle
