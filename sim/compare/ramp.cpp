#include "compare/ramp.h"

#include "light/delta_e_2000.h"
#include "plate/reshape/tones.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace kirtle {

namespace {

constexpr int kFilmSteps = 256;  ///< film values tried for a tone: the codes of an 8-bit plate
constexpr double kSolidLook = 1;

double film_of(int i) { return i / static_cast<double>(kFilmSteps - 1); }

const ToneCurve& curve(const PrintModel& model, int plate) {
  return model.plates[static_cast<std::size_t>(plate)].tone;
}

/// What a build lays at each film value of the plate that carries the shading.
struct Choice {
  double light_film = 0, dark_film = 0, light = 0, dark = 0;
  Lab lab;
};

std::vector<Choice> choices(const PrintModel& model, const CompareRoles& roles, BuildKind kind,
                            const RampSettings& settings) {
  std::vector<Choice> out;
  for (int i = 0; i < kFilmSteps; ++i) {
    Choice c;
    c.dark_film = prints_dark(kind) ? film_of(i) : 0;
    c.light_film = prints_dark(kind) ? light_film_for(kind, c.dark_film, settings) : 1 - film_of(i);
    c.light = curve(model, roles.light).printed(c.light_film);
    c.dark = curve(model, roles.dark).printed(c.dark_film);
    c.lab = ramp_colour(model, roles, c.light, c.dark);
    out.push_back(c);
  }
  return out;
}

/// The rising sequence of choices with the least weighted square error: by dynamic programming.
std::array<int, kRampSteps> best_rising(const std::vector<Choice>& all, const ShadeIntent& intent) {
  constexpr double kNever = std::numeric_limits<double>::infinity();
  std::vector<std::array<int, kFilmSteps>> from(kRampSteps);
  std::array<double, kFilmSteps> cost{};
  for (int step = 0; step < kRampSteps; ++step) {
    std::array<double, kFilmSteps> next{};
    double least = kNever;
    int at = 0;
    for (int i = 0; i < kFilmSteps; ++i) {
      // The best way to have come here: any choice at or before this one.
      if (step == 0 || cost[i] < least) {
        least = step == 0 ? 0 : cost[i];
        at = i;
      }
      const bool end = step == 0 || step == kRampSteps - 1;
      // The ends stay: no shading is asked as none, solid as solid.
      const bool allowed = !end || i == (step == 0 ? 0 : kFilmSteps - 1);
      const double de = delta_e_2000(all[static_cast<std::size_t>(i)].lab, intent.lab[step]);
      next[i] = allowed ? least + std::max(intent.weight[step], 1e-4) * de * de : kNever;
      from[step][i] = at;
    }
    cost = next;
  }
  std::array<int, kRampSteps> out{};
  out[kRampSteps - 1] = kFilmSteps - 1;
  for (int step = kRampSteps - 1; step > 0; --step) out[step - 1] = from[step][out[step]];
  return out;
}

/// Weighted mean and 95 % point over the tints.
void summarise(const ShadeIntent& intent, FittedRamp& ramp) {
  std::vector<std::pair<double, double>> by_size;
  double total = 0, sum = 0;
  for (int i = 1; i + 1 < kRampSteps; ++i) {
    by_size.emplace_back(ramp.de00[i], intent.weight[i]);
    total += intent.weight[i];
    sum += intent.weight[i] * ramp.de00[i];
  }
  if (!(total > 0)) return;
  ramp.mean_de00 = sum / total;
  std::sort(by_size.begin(), by_size.end());
  double below = 0;
  for (const auto& [de, weight] : by_size) {
    below += weight;
    ramp.p95_de00 = de;
    if (below >= 0.95 * total) break;
  }
}

}  // namespace

Lab ramp_colour(const PrintModel& model, const CompareRoles& roles, double light_printed,
                double dark_printed) {
  std::vector<double> cover(model.plates.size(), 0.0);
  cover[static_cast<std::size_t>(roles.light)] = light_printed;
  cover[static_cast<std::size_t>(roles.dark)] = dark_printed;
  return lab_from_xyz(model.table.mix(cover), model.table.weights().white);
}

ShadeIntent ideal_ramp(const PrintModel& model, const CompareRoles& roles) {
  std::vector<Lab> tints;
  for (int i = 0; i < kFilmSteps; ++i) tints.push_back(ramp_colour(model, roles, 1, film_of(i)));
  ShadeIntent out;
  std::size_t at = 0;
  for (int i = 0; i < kRampSteps; ++i) {
    const double t = i / static_cast<double>(kRampSteps - 1);
    const double l = tints.front().l + t * (tints.back().l - tints.front().l);
    while (at + 2 < tints.size() &&
           std::abs(tints[at + 1].l - tints.front().l) < std::abs(l - tints.front().l))
      ++at;
    const Lab &from = tints[at], &to = tints[at + 1];
    const double step = to.l - from.l;
    const double u = step != 0 ? std::clamp((l - from.l) / step, 0.0, 1.0) : 0.0;
    out.lab[i] = {from.l + u * (to.l - from.l), from.a + u * (to.a - from.a), from.b + u * (to.b - from.b)};
    out.weight[i] = 1.0 / kRampSteps;
  }
  return out;
}

double light_film_for(BuildKind kind, double dark_film, const RampSettings& settings) {
  switch (kind) {
    case BuildKind::fade:
    case BuildKind::fade_trap:
      return 1 - dark_film;
    case BuildKind::solid_under:
      return dark_film < settings.solid_from ? 1 : 0;
    case BuildKind::solid_under_all:
      return 1;
    case BuildKind::solid_tapering:
      return std::clamp((settings.solid_from - dark_film) / (settings.solid_from - settings.taper_from), 0.0,
                        1.0);
    case BuildKind::shirt_as_dark:
      break;
  }
  return 1;
}

double looks_solid_from(const PrintModel& model, const CompareRoles& roles) {
  const PrintingPlate& dark = model.plates[static_cast<std::size_t>(roles.dark)];
  if (!dark.cover.field) return prints_solid_from(dark.tone);
  const Lab solid = ramp_colour(model, roles, 1, 1);
  for (int i = 0; i < kFilmSteps; ++i) {
    const Lab lab = ramp_colour(model, roles, 1, dark.tone.printed(film_of(i)));
    if (delta_e_2000(lab, solid) <= kSolidLook) return std::max(film_of(i), 0.01);
  }
  return 1;
}

FittedRamp fit_ramp(const PrintModel& model, const CompareRoles& roles, BuildKind kind,
                    const ShadeIntent& intent, const RampSettings& settings) {
  const std::vector<Choice> all = choices(model, roles, kind, settings);
  const std::array<int, kRampSteps> best = best_rising(all, intent);
  const auto soaked = [&](int plate) { return model.plates[static_cast<std::size_t>(plate)].cover.field; };
  FittedRamp out;
  out.kind = kind;
  for (int i = 0; i < kRampSteps; ++i) {
    const Choice& c = all[static_cast<std::size_t>(best[i])];
    out.light_film[i] = c.light_film;
    out.dark_film[i] = c.dark_film;
    out.light_printed[i] = c.light;
    out.dark_printed[i] = c.dark;
    out.lab[i] = c.lab;
    out.de00[i] = delta_e_2000(c.lab, intent.lab[i]);
    if (i > 0 && i + 1 < kRampSteps && !soaked(roles.light))
      out.bare_share = std::max(out.bare_share, (1 - c.light) * (soaked(roles.dark) ? 1 : 1 - c.dark));
    out.steps.asked.push_back(i / static_cast<double>(kRampSteps - 1));
    out.steps.printed.push_back(film_of(best[i]));
  }
  summarise(intent, out);
  return out;
}

}  // namespace kirtle
