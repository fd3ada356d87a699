#include "job/read_press.h"

namespace kirtle {
namespace {

/// { number = 3, offset = ["0.3 mm", 0], from_pass = 2 }
std::optional<PalletBias> read_bad_pallet(TableReader& press, int pallets, int passes) {
  std::optional<TableReader> t = press.table("bad_pallet");
  if (!t) return std::nullopt;
  PalletBias bias;
  bias.pallet = t->whole("number", 1, pallets, Need::required).value_or(1);
  if (const Value* v = t->find("offset", Need::required, "a list of 2 lengths, right and down")) {
    if (v->kind != ValueKind::list || v->items.size() != 2) {
      t->error(*v,
               t->name("offset") + " is " + shown(*v) + "; it must be a list of 2 lengths, right and down");
    } else {
      const Range range{-50, 50};
      const std::string name = t->name("offset");
      bias.dx = {t->quantity(v->items[0], name + "[0]", Measure::length_mm, "mm", range).value_or(0)};
      bias.dy = {t->quantity(v->items[1], name + "[1]", Measure::length_mm, "mm", range).value_or(0)};
    }
  }
  bias.from_pass = t->whole("from_pass", 1, 24).value_or(2) - 1;
  if (passes > 0 && bias.from_pass >= passes) {
    const Value* named = t->find("from_pass");
    const std::string rule = t->name("from_pass") + " is " + std::to_string(bias.from_pass + 1) +
                             ", and the scene prints " + std::to_string(passes) +
                             (passes == 1 ? " pass" : " passes");
    if (named != nullptr) {
      t->error(*named, rule, "number passes from 1, in print order");
    } else {
      t->error_here(rule, "one pass has no other to be out of register with: take bad_pallet out");
    }
  }
  t->finish();
  return bias;
}

}  // namespace

void read_press_settings(TableReader& root, Scene& scene, Library& library) {
  PressSettings& press = scene.press;
  std::string preset = "average-automatic";
  Place asked_at = root.place();
  std::optional<TableReader> t = root.table("press");
  if (t) {
    if (!t->has("preset")) t->assume("preset");
    if (const std::optional<std::string> id = t->id("preset")) {
      preset = *id;
      asked_at = t->place(*t->find("preset"));
    }
  } else if (!root.has("press")) {
    root.assume("press");
  }
  if (const PressPreset* found = library.press(preset, asked_at, root.faults())) press.preset = *found;
  press.place = asked_at;
  if (!t) return;
  press.named = t->has("preset") || t->has("heads");
  press.preset.heads = t->whole("heads", 1, 30).value_or(press.preset.heads);
  press.preset.flashes = t->whole("flashes", 0, 10).value_or(press.preset.flashes);
  press.preset.pallets = t->whole("pallets", 1, 60).value_or(press.preset.pallets);
  press.revolutions = t->whole("revolutions", 1, 2).value_or(press.revolutions);
  if (const auto mm = t->quantity("holds", Measure::length_mm, "mm", {0, kMostHolds.v}))
    press.holds = Mm{*mm};
  press.draw_setup = t->flag_or("draw_setup", press.draw_setup);
  if (press.holds && press.draw_setup) {
    t->error(
        *t->find("draw_setup"),
        t->name("draw_setup") + " is true beside holds, which stands for all that moves, set-up included",
        "keep one of the two");
  }
  press.seed = static_cast<std::uint64_t>(t->whole("seed", 0, 2'000'000'000).value_or(1));
  press.bad_pallet = read_bad_pallet(*t, press.preset.pallets, static_cast<int>(scene.passes.size()));
  press.wet_trapping = t->number_or("wet_trapping", kShare, press.wet_trapping);
  press.wet_pickup = t->number_or("wet_pickup", kShare, press.wet_pickup);
  t->finish();
}

}  // namespace kirtle
