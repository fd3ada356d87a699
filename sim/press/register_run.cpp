#include "press/register_run.h"

#include "base/check.h"
#include "press/random.h"

#include <cmath>
#include <stdexcept>
#include <string>
#include <utility>

namespace kirtle {
namespace {

/// A plate's share of a pair: two independent plates differ by sqrt 2 times as much as one moves.
double plate_sigma(Mm pair) { return pair.v * std::sqrt(0.5); }

void require_register(bool holds, const char* what, double found) {
  if (!holds) throw std::domain_error("register: " + std::string(what) + "; it is " + std::to_string(found));
}

void require_sigma(const char* what, double sigma) {
  require_register(sigma >= 0 && std::isfinite(sigma), what, sigma);
}

/// Set-up errors are drawn once a run: shirt 0 is none of the run's.
RegisterOffset drawn_setup(const RegisterModel& model, int screen) {
  const auto draw = [&](DrawnFor what) {
    return normal_number({model.seed, 0, static_cast<std::uint32_t>(screen), what});
  };
  RegisterOffset o;
  if (model.setup_sigma.v > 0) {
    o.dx = {plate_sigma(model.setup_sigma) * draw(DrawnFor::setup_across)};
    o.dy = {plate_sigma(model.setup_sigma) * draw(DrawnFor::setup_down)};
  }
  if (model.setup_turn_sigma_deg > 0) o.turn_deg = model.setup_turn_sigma_deg * draw(DrawnFor::setup_turn);
  return o;
}

}  // namespace

RegisterModel register_model(const PressPreset& preset, std::vector<RegisterPass> passes, std::uint64_t seed,
                             bool draw_setup) {
  RegisterModel model;
  model.seed = seed;
  model.pair_sigma = preset.pair_sigma;
  model.turn_sigma_deg = preset.turn_sigma_deg;
  if (draw_setup) {
    model.setup_sigma = preset.setup_sigma;
    model.setup_turn_sigma_deg = preset.setup_turn_sigma_deg;
  }
  model.pallets = preset.pallets;
  model.passes = std::move(passes);
  return model;
}

RegisterModel register_model(const PressPreset& preset, Mm holds, std::vector<RegisterPass> passes,
                             std::uint64_t seed) {
  RegisterModel model;
  model.seed = seed;
  model.pair_sigma = sigma_of_holds(holds);
  model.pallets = preset.pallets;
  model.passes = std::move(passes);
  return model;
}

RegisterRun::RegisterRun(RegisterModel model) : model_(std::move(model)) {
  require_sigma("pair sigma must be >= 0 mm", model_.pair_sigma.v);
  require_sigma("turn sigma must be >= 0 degrees", model_.turn_sigma_deg);
  require_sigma("set-up sigma must be >= 0 mm", model_.setup_sigma.v);
  require_sigma("set-up turn sigma must be >= 0 degrees", model_.setup_turn_sigma_deg);
  require_register(model_.pallets >= 1, "there must be a pallet at least", model_.pallets);
  for (const PalletBias& b : model_.pallet_biases) {
    require_register(b.pallet >= 1 && b.pallet <= model_.pallets, "a bias must name a pallet of the press",
                     b.pallet);
    require_register(b.from_pass >= 0 && b.from_pass < passes(), "a bias must name a pass of the run",
                     b.from_pass);
    require_register(std::isfinite(b.dx.v) && std::isfinite(b.dy.v), "a bias must be finite, mm",
                     b.dx.v + b.dy.v);
  }
  double cloth = 1;  // length now, relative to the length under the first pass
  for (const RegisterPass& pass : model_.passes) {
    require_register(pass.flash_shrink >= 0 && pass.flash_shrink <= 0.05, "flash shrink must be 0..0.05",
                     pass.flash_shrink);
    RegisterOffset o = drawn_setup(model_, pass.screen);
    o.dx.v += pass.setup.dx.v;
    o.dy.v += pass.setup.dy.v;
    o.turn_deg += pass.setup.turn_deg;
    // On cloth that has shrunk, a plate's print covers more of the cloth as it was.
    o.stretch_x = (1 + pass.setup.stretch_x) / cloth - 1;
    o.stretch_y = (1 + pass.setup.stretch_y) / cloth - 1;
    o.dx.v /= cloth;
    o.dy.v /= cloth;
    fixed_.push_back(o);
    cloth *= 1 - pass.flash_shrink;
  }
}

int RegisterRun::pallet_of(std::uint32_t shirt) const {
  KIRTLE_CHECK(shirt, >=, 1u);
  return 1 + static_cast<int>((shirt - 1) % static_cast<std::uint32_t>(model_.pallets));
}

const RegisterOffset& RegisterRun::fixed_of(int pass) const {
  KIRTLE_CHECK(pass, >=, 0);
  KIRTLE_CHECK(pass, <, passes());
  return fixed_[static_cast<std::size_t>(pass)];
}

RegisterOffset RegisterRun::offset_of(std::uint32_t shirt, int pass) const {
  const int pallet = pallet_of(shirt);
  RegisterOffset o = fixed_of(pass);
  for (const PalletBias& b : model_.pallet_biases) {
    if (b.pallet != pallet || pass < b.from_pass) continue;
    o.dx.v += b.dx.v;
    o.dy.v += b.dy.v;
  }
  const auto draw = [&](DrawnFor what) {
    return normal_number({model_.seed, shirt, static_cast<std::uint32_t>(pass), what});
  };
  if (model_.pair_sigma.v > 0) {
    o.dx.v += plate_sigma(model_.pair_sigma) * draw(DrawnFor::shift_across);
    o.dy.v += plate_sigma(model_.pair_sigma) * draw(DrawnFor::shift_down);
  }
  if (model_.turn_sigma_deg > 0) o.turn_deg += model_.turn_sigma_deg * draw(DrawnFor::turn);
  return o;
}

std::vector<RegisterOffset> RegisterRun::offsets_of(std::uint32_t shirt) const {
  std::vector<RegisterOffset> offsets;
  for (int pass = 0; pass < passes(); ++pass) offsets.push_back(offset_of(shirt, pass));
  return offsets;
}

Placement placement_of(std::span<const RegisterOffset> offsets) {
  Placement mean;
  if (offsets.empty()) return mean;
  for (const RegisterOffset& o : offsets) {
    mean.dx.v += o.dx.v;
    mean.dy.v += o.dy.v;
  }
  mean.dx.v /= static_cast<double>(offsets.size());
  mean.dy.v /= static_cast<double>(offsets.size());
  return mean;
}

std::vector<RegisterOffset> without_placement(std::vector<RegisterOffset> offsets) {
  const Placement shared = placement_of(offsets);
  for (RegisterOffset& o : offsets) {
    o.dx.v -= shared.dx.v;
    o.dy.v -= shared.dy.v;
  }
  return offsets;
}

}  // namespace kirtle
