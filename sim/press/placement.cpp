#include "press/placement.h"

#include "base/check.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <limits>

namespace kirtle {
namespace {

constexpr int kNever = std::numeric_limits<int>::max() / 4;

/// What a shirt needs in one revolution, in order.
struct Need {
  StationUse use;
  int screen, pass;
};
using Needs = std::vector<Need>;

Needs needs_of(std::span<const PressPass> passes, int first, int last) {
  Needs needs;
  for (int i = first; i < last; ++i) {
    const PressPass& p = passes[static_cast<std::size_t>(i)];
    needs.push_back({StationUse::ink, p.screen, i});
    if (p.flash_after) needs.push_back({StationUse::flash, -1, i});
    if (p.cool_down && i + 1 < last) needs.push_back({StationUse::cool_down, -1, i});
  }
  return needs;
}

/// One head can serve both revolutions: the same screen, a flash for both; over a shirt that cools, anything
/// lifted.
bool can_share(const Need& a, const Need& b) {
  if (a.use == b.use) return a.screen == b.screen;
  return (a.use == StationUse::cool_down && b.use == StationUse::ink) ||
         (a.use == StationUse::ink && b.use == StationUse::cool_down);
}

bool is_flash(const Need& n) { return n.use == StationUse::flash; }

/// Fewest heads on which both revolutions find what they need in order, with at most `flash_units` of them
/// flashes: shortest common supersequence by dynamic programming over what is left of each and of the units.
class TwoRounds {
 public:
  TwoRounds(Needs first, Needs second, int flash_units)
      : first_(std::move(first)), second_(std::move(second)), units_(flash_units) {
    best_.assign((first_.size() + 1) * (second_.size() + 1) * static_cast<std::size_t>(units_ + 1), kNever);
    for (int i = size(first_); i >= 0; --i)
      for (int j = size(second_); j >= 0; --j)
        for (int f = 0; f <= units_; ++f) at(i, j, f) = best_of(i, j, f).heads;
  }
  int heads() const { return at(0, 0, units_); }

  /// Heads in order; each pass[] is {first revolution, second revolution}.
  std::vector<HeadPlan> plan() const {
    std::vector<HeadPlan> heads;
    for (int i = 0, j = 0, f = units_; i < size(first_) || j < size(second_);) {
      const Move m = best_of(i, j, f);
      HeadPlan head;
      head.pass = {-1, -1};
      head.use = StationUse::cool_down;
      const auto take = [&](const Need& n, std::size_t round) {
        if (n.use != StationUse::cool_down) head.use = n.use;
        if (n.use == StationUse::ink) head.pass[round] = n.pass;
      };
      if (m.first) take(first_[static_cast<std::size_t>(i++)], 0);
      if (m.second) take(second_[static_cast<std::size_t>(j++)], 1);
      f -= m.units;
      heads.push_back(head);
    }
    return heads;
  }

 private:
  struct Move {
    int heads = kNever;
    bool first = false, second = false;
    int units = 0;
  };
  static int size(const Needs& n) { return static_cast<int>(n.size()); }
  int& at(int i, int j, int f) { return best_[index(i, j, f)]; }
  int at(int i, int j, int f) const { return best_[index(i, j, f)]; }
  std::size_t index(int i, int j, int f) const {
    return static_cast<std::size_t>((i * (size(second_) + 1) + j) * (units_ + 1) + f);
  }
  Move best_of(int i, int j, int f) const {
    if (i == size(first_) && j == size(second_)) return {0};
    Move best;
    const auto offer = [&](bool first, bool second, bool flash) {
      if (flash && f == 0) return;
      const int heads = 1 + at(i + first, j + second, f - flash);
      if (heads < best.heads) best = {heads, first, second, flash};
    };
    const Need* a = i < size(first_) ? &first_[static_cast<std::size_t>(i)] : nullptr;
    const Need* b = j < size(second_) ? &second_[static_cast<std::size_t>(j)] : nullptr;
    if (a != nullptr && b != nullptr && can_share(*a, *b)) offer(true, true, is_flash(*a) || is_flash(*b));
    if (a != nullptr) offer(true, false, is_flash(*a));
    if (b != nullptr) offer(false, true, is_flash(*b));
    return best;
  }

  Needs first_, second_;
  int units_;
  std::vector<int> best_;
};

struct Split {
  int heads = kNever;
  int first_passes = 0;  ///< passes of the first revolution
};

int flashes_of(std::span<const PressPass> passes) {
  return static_cast<int>(
      std::count_if(passes.begin(), passes.end(), [](const PressPass& p) { return p.flash_after; }));
}

Needs on_heads(Needs needs, bool flash_takes_head) {
  if (!flash_takes_head) std::erase_if(needs, [](const Need& n) { return n.use != StationUse::ink; });
  return needs;
}

TwoRounds rounds_of(std::span<const PressPass> passes, int first_passes, const PressLimits& limits) {
  const int n = static_cast<int>(passes.size());
  return {on_heads(needs_of(passes, 0, first_passes), limits.flash_takes_head),
          on_heads(needs_of(passes, first_passes, n), limits.flash_takes_head),
          std::min(limits.flashes, flashes_of(passes))};
}

/// Fewest heads in that many revolutions; kNever if the flash units do not reach.
Split best_split(std::span<const PressPass> passes, int revolutions, const PressLimits& limits) {
  const int n = static_cast<int>(passes.size());
  Split best;
  if (limits.flashes < 1 && flashes_of(passes) > 0) return best;
  if (revolutions == 1) return {rounds_of(passes, n, limits).heads(), n};
  for (int cut = 1; cut < n; ++cut) {
    const int heads = rounds_of(passes, cut, limits).heads();
    if (heads < best.heads) best = {heads, cut};
  }
  return best;
}

PressPlan plan_of(std::span<const PressPass> passes, const Split& split, const PressLimits& limits) {
  const int n = static_cast<int>(passes.size());
  PressPlan plan;
  plan.revolutions = split.first_passes < n ? 2 : 1;
  plan.heads = rounds_of(passes, split.first_passes, limits).plan();
  plan.stations = static_cast<int>(plan.heads.size());
  plan.flashes = flashes_of(passes);
  for (HeadPlan& head : plan.heads) {
    head.pass.resize(static_cast<std::size_t>(plan.revolutions), -1);
    plan.screens += head.use == StationUse::ink;
    plan.flash_units += head.use == StationUse::flash;
  }
  if (!limits.flash_takes_head) plan.flash_units = plan.flashes > 0 ? 1 : 0;
  HeadPlan empty;
  empty.pass.assign(static_cast<std::size_t>(plan.revolutions), -1);
  plan.heads.resize(static_cast<std::size_t>(limits.heads), empty);

  for (int round = 1; round <= plan.revolutions; ++round) {
    const Needs needs =
        round == 1 ? needs_of(passes, 0, split.first_passes) : needs_of(passes, split.first_passes, n);
    int head = 0;
    for (const Need& need : needs) {
      const auto serves = [&](const HeadPlan& h) {
        const int printed = h.pass[static_cast<std::size_t>(round - 1)];
        if (need.use == StationUse::ink) return printed == need.pass;
        const bool flash = h.use == StationUse::flash;
        return need.use == StationUse::flash ? flash : printed < 0 && !flash;
      };
      if (need.use == StationUse::ink || limits.flash_takes_head) {
        do {
          ++head;
          KIRTLE_CHECK(head, <=, limits.heads);
        } while (!serves(plan.heads[static_cast<std::size_t>(head - 1)]));
        plan.steps.push_back({round, head, need.use, need.pass});
      } else {
        plan.steps.push_back({round, 0, need.use, need.pass});
      }
    }
  }
  return plan;
}

std::string counted(int n, const char* one, const char* many) {
  return std::to_string(n) + ' ' + (n == 1 ? one : many);
}

void refuse(std::span<const PressPass> passes, const PressLimits& limits, const Place& place,
            Diagnostics& refusals) {
  PressLimits any = limits;  // as many flash units as one could wish
  any.flashes = std::max(1, flashes_of(passes));
  const int one = best_split(passes, 1, any).heads;
  const int two_here = best_split(passes, 2, limits).heads, two = best_split(passes, 2, any).heads;
  const Needs needs = needs_of(passes, 0, static_cast<int>(passes.size()));
  const auto count = [&](StationUse use) {
    return static_cast<int>(
        std::count_if(needs.begin(), needs.end(), [&](const Need& n) { return n.use == use; }));
  };
  const int flashes = count(StationUse::flash), cools = count(StationUse::cool_down);
  const std::string what = counted(count(StationUse::ink), "ink pass", "ink passes") + ", " +
                           counted(flashes, "flash", "flashes") + ", " +
                           counted(cools, "cool-down", "cool-downs");
  const std::string press = "press \"" + printable(limits.name) + "\"";
  const bool heads_short = one > limits.heads;
  const int units = limits.flash_takes_head ? flashes : std::min(flashes, 1);
  std::string message = "the job needs " + counted(one, "station", "stations") + " (" + what + ") and " +
                        counted(units, "flash unit", "flash units") + "; " + press + " has " +
                        counted(limits.heads, "head", "heads") + " and " +
                        counted(limits.flashes, "flash unit", "flash units");
  if (limits.revolutions == 2 && two < kNever)
    message += "; in two revolutions it still needs " + counted(two, "head", "heads");
  std::string remedy;
  const auto offer = [&](const std::string& text) { remedy += (remedy.empty() ? "" : "; or ") + text; };
  if (limits.revolutions == 1 && two_here <= limits.heads) {
    offer("allow a second revolution, in which it takes " + counted(two_here, "head", "heads") +
          " (about half the shirts an hour)");
  }
  offer("use a press with " + counted(one, "head", "heads") +
        (units > limits.flashes ? " and " + counted(units, "flash unit", "flash units") : "") +
        (two < one && two > limits.heads ? ", or with " + std::to_string(two) + " in two revolutions" : ""));
  if (heads_short) {
    offer("take " + counted(one - limits.heads, "station", "stations") +
          " out: fewer inks, flashes or cool-downs");
  } else if (units > limits.flashes) {
    offer("take " + counted(units - limits.flashes, "flash", "flashes") + " out");
  }
  refusals.error(place, message, remedy);
}

std::string size_text(Mm width, Mm height) {
  char text[96];
  std::snprintf(text, sizeof text, "%.0f x %.0f mm (%.1f x %.1f in)", width.v, height.v, width.v / kMmPerInch,
                height.v / kMmPerInch);
  return text;
}

void check_against(Mm width, Mm height, Mm most_wide, Mm most_high, const std::string& what,
                   const Place& place, Diagnostics& refusals) {
  double scale = 1;
  if (most_wide.v > 0 && !(width.v <= most_wide.v)) scale = std::min(scale, most_wide.v / width.v);
  if (most_high.v > 0 && !(height.v <= most_high.v)) scale = std::min(scale, most_high.v / height.v);
  if (!(scale < 1)) return;
  refusals.error(
      place,
      "the print is " + size_text(width, height) + "; " + what + " is " + size_text(most_wide, most_high),
      "print it at " + std::to_string(static_cast<int>(std::floor(100 * scale))) +
          " % or smaller, or on a larger press");
}

}  // namespace

PressLimits press_limits(const PressPreset& preset, int revolutions) {
  PressLimits l;
  l.name = preset.id;
  l.heads = preset.heads;
  l.flashes = preset.flashes;
  l.flash_takes_head = preset.flash_takes_head;
  l.pallet_width = preset.pallet_width;
  l.pallet_height = preset.pallet_height;
  l.image_width = preset.image_width;
  l.image_height = preset.image_height;
  l.revolutions = revolutions;
  return l;
}

PlacedPasses place_passes(std::span<const PressPass> passes, const PressLimits& limits, const Place& place) {
  KIRTLE_CHECK(passes.size(), >=, 1u);
  KIRTLE_CHECK(passes.size(), <=, 64u);
  KIRTLE_CHECK(limits.heads, >=, 1);
  KIRTLE_CHECK(limits.flashes, >=, 0);
  KIRTLE_CHECK(limits.revolutions, >=, 1);
  KIRTLE_CHECK(limits.revolutions, <=, 2);
  PlacedPasses placed;
  for (int revolutions = 1; revolutions <= limits.revolutions; ++revolutions) {
    const Split split = best_split(passes, revolutions, limits);
    if (split.heads > limits.heads) continue;
    placed.plan = plan_of(passes, split, limits);
    return placed;
  }
  refuse(passes, limits, place, placed.refusals);
  return placed;
}

void check_image_fits(Mm width, Mm height, const PressLimits& limits, const Place& place,
                      Diagnostics& refusals) {
  KIRTLE_CHECK(width.v, >, 0);
  KIRTLE_CHECK(height.v, >, 0);
  const std::string press = " of press \"" + printable(limits.name) + "\"";
  check_against(width, height, limits.pallet_width, limits.pallet_height, "the pallet" + press, place,
                refusals);
  check_against(width, height, limits.image_width, limits.image_height, "the largest image" + press, place,
                refusals);
}

}  // namespace kirtle
