#include "range/design.h"

#include "compare/compare.h"
#include "job/press_plan.h"
#include "job/read_scene.h"
#include "plate/reshape/builds.h"
#include "plate/reshape/tones.h"
#include "range/ink_choice.h"

#include <algorithm>
#include <fmt/format.h>
#include <set>

namespace kirtle {

namespace {

constexpr double kWantsBase = 0.3;    // base_need from which strokes want a base, as check has it
constexpr double kDarkInk = 40;       // L* on undyed cloth: solid over a base it leaves nothing to see of it
constexpr int kPlastisolStrokes = 2;  // of a white on a dark shirt (common practice, no source)
constexpr double kChokeAutomatic = 0.15, kChokeManual = 0.3;  // mm (common practice, no source)
constexpr std::size_t kMostBaseSwaps = 3;

class Designer {
 public:
  Designer(const Scene& scene, const std::shared_ptr<const PlateSet>& plates, const std::vector<int>& bases,
           std::span<const Ink> inks, unsigned threads)
      : scene_(scene), plates_(plates), bases_(bases), inks_(stand_ins(inks)), threads_(threads) {
    out_.ppi = plates->ppi;
    for (const PlateImage& image : plates->images) images_.emplace_back(plates, &image);
  }

  RangeDesigns make() {
    add(RangeVariant::as_is, "as-is", "as it is", "", scene_, images_);
    without_base();
    with_base();
    shirt_shade();
    if (bases_.empty()) {
      swap_light();
      swap_all();
    } else {
      swap_base();
    }
    return std::move(out_);
  }

 private:
  void add(RangeVariant variant, std::string id, std::string called, std::string changed, Scene scene,
           SharedImages images) {
    RangeDesign d;
    d.variant = variant;
    d.id = std::move(id);
    d.called = std::move(called);
    d.changed = std::move(changed);
    const std::vector<PressPass> passes = press_passes(scene);
    std::set<int> screens;
    for (const PressPass& pass : passes) {
      screens.insert(pass.screen);
      d.flashes += pass.flash_after ? 1 : 0;
    }
    d.screens = static_cast<int>(screens.size());
    for (const auto& image : images)
      d.new_screens += std::find(images_.begin(), images_.end(), image) == images_.end() ? 1 : 0;
    d.scene = std::move(scene);
    d.images = std::move(images);
    out_.designs.push_back(std::move(d));
  }

  void skip(RangeVariant variant, const std::string& why) {
    out_.not_tried.push_back(fmt::format("{}: {}", variant_id(variant), why));
  }

  bool is_base(int plate) const { return std::find(bases_.begin(), bases_.end(), plate) != bases_.end(); }

  void without_base() {
    if (bases_.empty()) return skip(RangeVariant::without_base, "the scene has no base");
    Scene scene = scene_;
    std::erase_if(scene.passes, [&](const ScenePass& pass) { return is_base(pass.plate); });
    if (scene.passes.empty()) return skip(RangeVariant::without_base, "nothing but base prints");
    SharedImages images;
    const std::vector<PrintingPlate> before = printing_plates(scene_);
    for (const PrintingPlate& plate : printing_plates(scene))
      images.push_back(image_of(before, plate.scene_plate));
    add(RangeVariant::without_base, "without-base", "without base", "leave the base out", std::move(scene),
        std::move(images));
  }

  std::shared_ptr<const PlateImage> image_of(const std::vector<PrintingPlate>& plates,
                                             int scene_plate) const {
    const auto at = std::find_if(plates.begin(), plates.end(),
                                 [&](const PrintingPlate& p) { return p.scene_plate == scene_plate; });
    return images_[static_cast<std::size_t>(at - plates.begin())];
  }

  /// Every pass with the nearest ink of a family; nothing if one has none. told: "Red for Scarlet, ..".
  std::optional<Scene> in_family(InkFamily family, std::string& told) const {
    Scene scene = scene_;
    std::set<std::string> said;
    for (ScenePass& pass : scene.passes) {
      const bool has_agent = pass.ink.agent_g_cm3 > 0;
      if (pass.ink.family == family && !has_agent) continue;
      const Ink* ink = nullptr;
      if (family == InkFamily::discharge) {
        const bool dark = lightness(pass) < kDarkInk;
        if (dark && pass.ink.family == InkFamily::water_base) continue;
        ink = dark ? nearest_ink(scene_, pass, inks_, InkFamily::water_base, false, kNearestInk)
                   : nearest_ink(scene_, pass, inks_, family, true, kNearestInk);
      } else {
        ink = nearest_ink(scene_, pass, inks_, family, false, kNearestInk);
      }
      if (ink == nullptr) return std::nullopt;
      const std::string text = fmt::format("{} for {}", ink->name, pass.ink.name);
      if (said.insert(text).second) told += (told.empty() ? "" : ", ") + text;
      put(pass, *ink);
    }
    return scene;
  }

  /// Another ink on a pass: what the scene said of the former ink's spread and tone is not said of it.
  static void put(ScenePass& pass, const Ink& ink) {
    pass.ink = ink;
    pass.ink_spread.reset();
    pass.steps.reset();
  }

  bool has_agent() const {
    return std::any_of(scene_.passes.begin(), scene_.passes.end(),
                       [](const ScenePass& pass) { return pass.ink.agent_g_cm3 > 0; });
  }

  double lightness(const ScenePass& pass) const { return printed_on_undyed(scene_, pass, pass.ink).l; }

  /// The palest base ink of a family; low_bleed: among those that hold dye back, or those that do not.
  const Ink* base_ink(InkFamily family, bool low_bleed) const {
    const Ink* best = nullptr;
    for (const Ink* ink : inks_)
      if (ink->family == family && is_base_ink(*ink) && is_low_bleed(*ink) == low_bleed &&
          (best == nullptr || lightness_on_black(*ink) > lightness_on_black(*best)))
        best = ink;
    return best;
  }

  void with_base() {
    if (!bases_.empty()) return skip(RangeVariant::with_base, "the scene has a base");
    if (scene_.plates.size() >= kMaxPlates || scene_.passes.size() >= kMaxPasses)
      return skip(RangeVariant::with_base, "a scene takes no more plates");
    std::size_t before = out_.designs.size();
    if (!has_agent()) on_base(scene_, "");
    if (scene_.passes.front().ink.family != InkFamily::plastisol) {
      std::string told;
      const std::optional<Scene> plastisol = in_family(InkFamily::plastisol, told);
      if (plastisol) on_base(*plastisol, told);
    }
    if (out_.designs.size() == before)
      skip(RangeVariant::with_base, "no ink of it wants a base, or the library has none of its kind");
  }

  /// One design for a plain base, one for a base that holds dye back.
  void on_base(const Scene& scene, const std::string& told) {
    const InkFamily family = scene.passes.front().ink.family;
    for (const Ink* ink : {base_ink(family, false), base_ink(family, true)}) {
      if (ink == nullptr) continue;
      const std::shared_ptr<const PlateImage> base = base_plate(scene, *ink);
      if (!base) return;
      Scene based = scene;
      based.plates.push_back(added_plate());
      based.passes.insert(based.passes.begin(), base_pass(scene, *ink));
      SharedImages images = images_;
      images.insert(images.begin(), base);
      add(RangeVariant::with_base, "with-base:" + ink->id,
          fmt::format("{}on a base of {}", told.empty() ? "" : "in plastisol ", ink->name),
          fmt::format("one screen of {}, flashed{}{}", ink->name, told.empty() ? "" : "; ", told),
          std::move(based), std::move(images));
    }
  }

  ScenePlate added_plate() const {
    ScenePlate plate;
    plate.name = "base (added)";
    plate.place = {scene_.file.string(), 0, 0};
    return plate;
  }

  /// On the coarsest mesh of the job, with the first pass's halftone; flashed, two strokes of plastisol.
  ScenePass base_pass(const Scene& scene, const Ink& ink) const {
    ScenePass pass = scene.passes.front();
    for (const ScenePass& other : scene.passes)
      if (other.mesh.threads_per_cm < pass.mesh.threads_per_cm) pass.mesh = other.mesh;
    pass.plate = static_cast<int>(scene.plates.size());
    put(pass, ink);
    pass.strokes = ink.family == InkFamily::plastisol ? kPlastisolStrokes : 1;
    pass.flash_after = true;
    pass.cool_down = scene.press.preset.automatic;
    pass.wet_deposit.reset();
    pass.curve = CurveAt::none;
    pass.offset = {};
    pass.flash_shrink = 0;
    return pass;
  }

  /// Nothing if no ink wants one.
  std::shared_ptr<const PlateImage> base_plate(const Scene& scene, const Ink& ink) const {
    const std::vector<PrintingPlate> plates = printing_plates(scene);
    TonalBase how;
    for (std::size_t p = 0; p < plates.size(); ++p) {
      const ScenePass& top = first_pass_of(scene, plates[p].scene_plate);
      if (top.ink.base_need >= kWantsBase) {
        how.tops.push_back({images_[p].get(), top.ink.base_need, &plates[p].tone});
      } else if (lightness(top) < kDarkInk) {
        how.holes.push_back({images_[p].get(), prints_solid_from(plates[p].tone)});
      }
    }
    if (how.tops.empty()) return nullptr;
    const ToneCurve curve(tone_settings_of(base_pass(scene, ink)));
    how.curve = &curve;
    how.choke = {scene.press.preset.automatic ? kChokeAutomatic : kChokeManual};
    auto plate = std::make_shared<PlateImage>(tonal_base(how, out_.ppi, nullptr, threads_).plate);
    plate->name = added_plate().name;
    return plate;
  }

  void shirt_shade() {
    if (!bases_.empty())
      return skip(RangeVariant::shirt_shade, "a base would lie bare where the dark is left out");
    const bool named = !scene_.compare.light.empty() && !scene_.compare.dark.empty();
    if (!named && images_.size() != 2)
      return skip(RangeVariant::shirt_shade,
                  "no light and dark are named in [compare], and not just two plates print");
    const Prediction arrived(scene_, plates_);
    try {
      const CompareStart start = start_comparing(scene_, arrived, std::nullopt, threads_);
      roles_ = start.roles;
      const BuildFigures figures = evaluate_build(scene_, arrived.model(), start.roles, start.intent,
                                                  BuildKind::shirt_as_dark, start.settings);
      BuiltPlates built = build_plates(scene_, arrived, start.roles, start.body, figures, threads_);
      SharedImages images;
      const std::vector<PrintingPlate> before = printing_plates(scene_), after = printing_plates(built.scene);
      std::string light;
      for (std::size_t p = 0; p < after.size(); ++p) {
        if (after[p].scene_plate == before[static_cast<std::size_t>(roles_->light)].scene_plate) {
          light = after[p].name;
          images.push_back(std::make_shared<PlateImage>(std::move(built.images[p])));
        } else {
          images.push_back(image_of(before, after[p].scene_plate));
        }
      }
      add(RangeVariant::shirt_shade, "shirt-as-shade", "the shirt as the shade",
          fmt::format("leave {} out; {} made anew, fading where it was",
                      before[static_cast<std::size_t>(roles_->dark)].name, light),
          std::move(built.scene), std::move(images));
    } catch (const InputError& e) {
      skip(RangeVariant::shirt_shade, e.diagnostics().all().front().message);
    }
  }

  void swap_base() {
    std::set<std::string> now;
    std::string named;
    InkFamily family = InkFamily::plastisol;
    for (const ScenePass& pass : scene_.passes) {
      if (!is_base(pass.plate)) continue;
      now.insert(pass.ink.id);
      named = pass.ink.name;
      family = pass.ink.family;
    }
    std::size_t found = 0;
    for (const Ink* ink : inks_) {
      if (ink->family != family || !is_base_ink(*ink) || now.contains(ink->id)) continue;
      if (++found > kMostBaseSwaps) break;
      Scene scene = scene_;
      for (ScenePass& pass : scene.passes)
        if (is_base(pass.plate)) put(pass, *ink);
      add(RangeVariant::inks_swapped, "inks:base=" + ink->id, fmt::format("base in {}", ink->name),
          fmt::format("{} for {}", ink->name, named), std::move(scene), images_);
    }
    if (found == 0) skip(RangeVariant::inks_swapped, "the library has no other base ink of this kind");
  }

  /// The light of the roles, else the plate whose ink is lightest.
  int light_plate() const {
    const std::vector<PrintingPlate> plates = printing_plates(scene_);
    std::size_t best = 0;
    for (std::size_t p = 1; p < plates.size(); ++p)
      if (lightness(first_pass_of(scene_, plates[p].scene_plate)) >
          lightness(first_pass_of(scene_, plates[best].scene_plate)))
        best = p;
    if (roles_) best = static_cast<std::size_t>(roles_->light);
    return plates[best].scene_plate;
  }

  void swap_light() {
    const int light = light_plate();
    const ScenePass& pass_now = first_pass_of(scene_, light);
    const Ink& now = pass_now.ink;
    if (now.effect != InkEffect::none)
      return skip(RangeVariant::inks_swapped, "an ink outside the model has no kin");
    const Ink* other = nearest_ink(scene_, pass_now, inks_, now.family, now.agent_g_cm3 > 0, kNearestInk);
    if (other == nullptr)
      return skip(RangeVariant::inks_swapped, fmt::format("no other ink is near {}", now.name));
    Scene scene = scene_;
    for (ScenePass& pass : scene.passes)
      if (pass.plate == light) put(pass, *other);
    add(RangeVariant::inks_swapped, "inks:light=" + other->id,
        fmt::format("{} in place of {}", other->name, now.name),
        fmt::format("{} for {}", other->name, now.name), std::move(scene), images_);
  }

  void swap_all() {
    for (const InkFamily family : {InkFamily::plastisol, InkFamily::water_base, InkFamily::discharge}) {
      const bool same = std::all_of(scene_.passes.begin(), scene_.passes.end(),
                                    [&](const ScenePass& pass) { return pass.ink.family == family; });
      if (same || (family == InkFamily::discharge && has_agent())) continue;
      const char* word = family == InkFamily::plastisol    ? "plastisol"
                         : family == InkFamily::water_base ? "water base"
                                                           : "discharge";
      std::string told;
      std::optional<Scene> scene = in_family(family, told);
      if (!scene) {
        skip(RangeVariant::inks_swapped, fmt::format("the library has no {} near each of its inks", word));
        continue;
      }
      if (told.empty()) continue;
      add(RangeVariant::inks_swapped,
          fmt::format("inks:all={}", family == InkFamily::water_base ? "water-base" : word),
          fmt::format("in {}", word), told, std::move(*scene), images_);
    }
  }

  const Scene& scene_;
  const std::shared_ptr<const PlateSet>& plates_;
  const std::vector<int>& bases_;
  std::vector<const Ink*> inks_;
  unsigned threads_;
  SharedImages images_;
  std::optional<CompareRoles> roles_;
  RangeDesigns out_;
};

}  // namespace

std::string_view variant_id(RangeVariant variant) {
  switch (variant) {
    case RangeVariant::as_is:
      return "as-is";
    case RangeVariant::without_base:
      return "without-base";
    case RangeVariant::with_base:
      return "with-base";
    case RangeVariant::shirt_shade:
      return "shirt-as-shade";
    case RangeVariant::inks_swapped:
      break;
  }
  return "inks-swapped";
}

RangeDesigns make_designs(const Scene& scene, const std::shared_ptr<const PlateSet>& plates,
                          const std::vector<int>& bases, std::span<const Ink> inks, unsigned threads) {
  return Designer(scene, plates, bases, inks, threads).make();
}

}  // namespace kirtle
