#include "range/judge.h"

#include "base/check.h"
#include "light/delta_e_2000.h"
#include "light/srgb.h"

#include <algorithm>
#include <array>
#include <fmt/format.h>
#include <numeric>

namespace kirtle {

namespace {

constexpr double kMostLost = 0.5, kMuchLost = 0.2;  // of the inked area (our own choice)
constexpr double kMostlyDead = 0.5,
                 kPartlyDead = 0.2;  // of a cloth that agent does nothing in (our own choice)
constexpr double kLighterBy = 20;    // L*: a light lies so much over the cloth that shades it
constexpr std::size_t kMostReasons = 3;

/// What a finding that counts here is about: the shirt; inks and press, as on the scene's own shirt; or a
/// base's outline, which counts for one that was added here. All others are about how the plates are drawn.
enum class About { shirt, print, new_base };
struct CountedFinding {
  std::string_view kind, brief;
  About about = About::print;
};
constexpr std::array kCounted{
    CountedFinding{"stations-short", "more stations than the press has"},
    CountedFinding{"too-large", "larger than the press prints"},
    CountedFinding{"no-discharge", "the dye does not yield enough", About::shirt},
    CountedFinding{"no-base", "the shirt shows through: wants a base"},
    CountedFinding{"wet-load", "too wet to dry and cure"},
    CountedFinding{"piled-solids", "two solids piled up"},
    CountedFinding{"wet-overlap", "over 200 % wet on wet"},
    CountedFinding{"ink-build", "thick and stiff"},
    CountedFinding{"dye-migration", "the shirt's dye wanders into the ink", About::shirt},
    CountedFinding{"base-eats-type", "no base under fine strokes", About::new_base},
    CountedFinding{"base-shows", "the base may show at edges", About::new_base},
};

const CountedFinding* counted(const std::string& kind) {
  const auto at =
      std::find_if(kCounted.begin(), kCounted.end(), [&](const auto& c) { return c.kind == kind; });
  return at == kCounted.end() ? nullptr : &*at;
}

bool among(const std::vector<std::string>& kinds, std::string_view kind) {
  return std::find(kinds.begin(), kinds.end(), kind) != kinds.end();
}

bool same_tone(const ToneSettings& a, const ToneSettings& b) {
  const bool steps = a.steps.has_value() == b.steps.has_value() &&
                     (!a.steps || (a.steps->asked == b.steps->asked && a.steps->printed == b.steps->printed));
  return steps && a.halftone.lpi == b.halftone.lpi && a.halftone.angle_deg == b.halftone.angle_deg &&
         a.halftone.shape == b.halftone.shape && a.halftone.dot.v == b.halftone.dot.v &&
         a.spread.v == b.spread.v && a.smallest_dot.v == b.smallest_dot.v && a.curve == b.curve;
}

bool same_cover(const CoverSettings& a, const CoverSettings& b) {
  return a.field == b.field && a.wick.v == b.wick.v && a.offset.dx.v == b.offset.dx.v &&
         a.offset.dy.v == b.offset.dy.v && a.offset.turn_deg == b.offset.turn_deg &&
         a.offset.stretch_x == b.offset.stretch_x && a.offset.stretch_y == b.offset.stretch_y &&
         same_tone(a.tone, b.tone);
}

/// Share of a place that ink covers: what no plate leaves bare, as if each fell independently.
double inked(std::span<const double> cover, std::span<const std::size_t> plates) {
  double bare = 1;
  for (const std::size_t p : plates) bare *= 1 - cover[p];
  return 1 - bare;
}

std::vector<double> picked(std::span<const double> cover, std::span<const std::size_t> plates) {
  std::vector<double> out;
  for (const std::size_t p : plates) out.push_back(cover[p]);
  return out;
}

double weighted_mean(const std::vector<double>& value, const std::vector<double>& weight) {
  const double all = std::accumulate(weight.begin(), weight.end(), 0.0);
  return all > 0 ? std::inner_product(value.begin(), value.end(), weight.begin(), 0.0) / all : 0;
}

/// The least value that 95 % of the weight stays at or under.
double weighted_p95(const std::vector<double>& value, const std::vector<double>& weight) {
  std::vector<std::size_t> order(value.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return value[a] != value[b] ? value[a] < value[b] : a < b; });
  const double all = std::accumulate(weight.begin(), weight.end(), 0.0);
  double below = 0;
  for (const std::size_t i : order) {
    below += weight[i];
    if (below >= 0.95 * all) return value[i];
  }
  return 0;
}

/// Share of the cloth, 0..1, in which discharge agent does nothing.
double dead_to_agent(const Cloth& cloth) {
  double out = 0;
  for (const ClothFibre& fibre : cloth.fibres)
    if (fibre.takes_agent < 0.5) out += fibre.share;
  return out;
}

}  // namespace

std::string_view to_string(RangeVerdict verdict) {
  return verdict == RangeVerdict::works  ? "works"
         : verdict == RangeVerdict::care ? "with care"
                                         : "does not work";
}

RangeJudge::RangeJudge(const RangeDesigns& designs, const PlateCheck& known, int picture_height,
                       unsigned threads)
    : designs_(designs) {
  CheckSettings settings;
  settings.threads = threads;
  const RangeDesign& as_is = designs.designs.front();
  const PrintModel home(as_is.scene);
  for (const RangeDesign& design : designs.designs) {
    Ready ready;
    std::deque<PlateCover> covers;
    const auto add = [&](const std::shared_ptr<const PlateImage>& image, const CoverSettings& how) {
      covers.emplace_back(*image, designs.ppi, how);
      return covers.size() - 1;
    };
    std::vector<std::size_t> own;
    for (std::size_t p = 0; p < home.plates.size(); ++p)
      own.push_back(add(as_is.images[p], home.plates[p].cover));
    const std::vector<PrintingPlate> plates = printing_plates(design.scene);
    for (std::size_t p = 0; p < plates.size(); ++p) {
      const auto at = std::find_if(own.begin(), own.end(), [&](std::size_t o) {
        return as_is.images[o] == design.images[p] && same_cover(home.plates[o].cover, plates[p].cover);
      });
      ready.plates.push_back(at != own.end() ? *at : add(design.images[p], plates[p].cover));
    }
    std::vector<const PlateCover*> all;
    for (const PlateCover& cover : covers) all.push_back(&cover);
    TupleSettings how;
    how.picture_height = picture_height;
    how.threads = threads;
    ready.tuples = count_tuples(all, how);
    for (std::size_t i = 0; i < ready.tuples.size(); ++i) {
      const std::span<const double> cover = ready.tuples.at(i);
      ready.wanted.push_back(lab_from_xyz(home.table.mix(picked(cover, own)), home.table.weights().white));
      ready.weight.push_back(ready.tuples.share[i] * inked(cover, own));
      ready.inked.push_back(ready.tuples.share[i] * inked(cover, ready.plates));
    }
    ready.check = &known;
    if (design.variant != RangeVariant::as_is)
      ready.check = &checks_.emplace_back(design.scene, design.images, designs.ppi, settings, &known);
    ready_.push_back(std::move(ready));
  }
  for (const Finding& f : known.on(as_is.scene, home).findings) {
    const bool caution = f.severity == FindingSeverity::caution && counted(f.kind) != nullptr &&
                         counted(f.kind)->about == About::print;
    const bool drawn = f.severity == FindingSeverity::sent_back &&
                       (counted(f.kind) == nullptr || counted(f.kind)->about == About::new_base);
    if (caution && !among(cautions_at_home_, f.kind)) cautions_at_home_.push_back(f.kind);
    if (drawn && !among(plates_sent_back_, f.kind)) plates_sent_back_.push_back(f.kind);
  }
  lost_at_home_ = figures(0, as_is.scene.shirt).lost_share;
}

int RangeJudge::step() const {
  int out = 1;
  for (const Ready& ready : ready_) out = std::max(out, ready.tuples.step);
  return out;
}

std::vector<RangeFigures> RangeJudge::on(const Cloth& shirt) const {
  std::vector<RangeFigures> out;
  for (std::size_t i = 0; i < designs_.designs.size(); ++i) out.push_back(figures(i, shirt));
  return out;
}

RangeFigures RangeJudge::figures(std::size_t index, const Cloth& shirt) const {
  const RangeDesign& design = designs_.designs[index];
  const Ready& ready = ready_[index];
  Scene scene = design.scene;
  scene.shirt = shirt;
  const PrintModel model(scene);
  const XYZ white = model.table.weights().white;
  const Lab bare = lab_from_xyz(model.table.mix(std::vector<double>(model.plates.size(), 0.0)), white);
  RangeFigures out;
  std::vector<XYZ> xyz;
  std::vector<double> difference, contrast;
  double lost = 0, all = 0;
  for (std::size_t i = 0; i < ready.tuples.size(); ++i) {
    xyz.push_back(model.table.mix(picked(ready.tuples.at(i), ready.plates)));
    const Lab lab = lab_from_xyz(xyz.back(), white);
    difference.push_back(delta_e_2000(lab, ready.wanted[i]));
    contrast.push_back(delta_e_2000(lab, bare));
    all += ready.inked[i];
    if (contrast.back() < kLostIn) lost += ready.inked[i];
  }
  out.difference_mean = weighted_mean(difference, ready.weight);
  out.difference_p95 = weighted_p95(difference, ready.weight);
  out.contrast = weighted_mean(contrast, ready.inked);
  out.lost_share = all > 0 ? lost / all : 0;
  out.width = ready.tuples.width;
  out.height = ready.tuples.height;
  const SrgbEncoder encoder(white);
  for (std::size_t at = 0; at < ready.tuples.picture.size(); at += AreaTuples::kPictureSamples) {
    XYZ sum{};
    for (int s = 0; s < AreaTuples::kPictureSamples; ++s) {
      const XYZ& c = xyz[ready.tuples.picture[at + static_cast<std::size_t>(s)]];
      sum = {sum.x + c.x, sum.y + c.y, sum.z + c.z};
    }
    constexpr double kPart = 1.0 / AreaTuples::kPictureSamples;
    const Rgb8 rgb = encoder.encode8({sum.x * kPart, sum.y * kPart, sum.z * kPart});
    out.rgb.insert(out.rgb.end(), rgb.begin(), rgb.end());
  }
  judge(index, scene, model, out);
  return out;
}

void RangeJudge::judge(std::size_t index, const Scene& scene, const PrintModel& model,
                       RangeFigures& out) const {
  const RangeDesign& design = designs_.designs[index];
  std::vector<RangeReason> no, care;
  const bool agent = std::any_of(scene.passes.begin(), scene.passes.end(),
                                 [](const ScenePass& pass) { return pass.ink.agent_g_cm3 > 0; });
  const double dead = agent ? dead_to_agent(scene.shirt) : 0;
  if (dead >= kPartlyDead)
    (dead >= kMostlyDead ? no : care)
        .push_back({"no-agent-in-fibre",
                    dead >= kMostlyDead ? "does not discharge: polyester" : "discharges in part: polyester",
                    fmt::format("discharge does nothing in {:.0f} % of this cloth ({})", 100 * dead,
                                scene.shirt.fibre_text)});
  if (design.variant == RangeVariant::shirt_shade) shade(model, no);
  for (const Finding& f : ready_[index].check->on(scene, model).findings) {
    const CountedFinding* kind = counted(f.kind);
    if (kind == nullptr || (kind->about == About::new_base && design.variant != RangeVariant::with_base))
      continue;
    if (std::any_of(no.begin(), no.end(), [&](const RangeReason& r) { return r.kind == f.kind; }) ||
        std::any_of(care.begin(), care.end(), [&](const RangeReason& r) { return r.kind == f.kind; }))
      continue;  // the worst of each kind comes first
    const RangeReason reason{f.kind, std::string(kind->brief), f.what};
    // Strokes too thin for any screen have no base that holds, either: that is the drawing's fault.
    const bool drawn_so = kind->about == About::new_base && among(plates_sent_back_, "thin-lines");
    if (f.severity == FindingSeverity::sent_back) {
      (drawn_so ? care : no).push_back(reason);
    } else if (f.severity == FindingSeverity::caution && !among(cautions_at_home_, f.kind)) {
      care.push_back(reason);
    }
  }
  const RangeReason lost{
      "lost-in-cloth", "much of it is lost in the cloth",
      fmt::format("{:.0f} % of the ink can hardly be told from the cloth", 100 * out.lost_share)};
  if (out.lost_share > std::max(kMostLost, lost_at_home_))
    no.push_back(lost);
  else if (out.lost_share > std::max(kMuchLost, lost_at_home_ + 0.1))
    care.push_back(lost);
  if (out.difference_mean > kAnotherPrint)
    no.push_back(
        {"another-print", "another print: ask the customer first",
         fmt::format("another print than on {} (dE {:.1f}, over {:.0f}): do not take it without asking "
                     "the customer",
                     design.scene.shirt.name, out.difference_mean, kAnotherPrint)});
  else if (out.difference_mean > kAnotherColour)
    care.push_back({"another-colour", "another colour: show the customer",
                    fmt::format("another colour than on {} (dE {:.1f}): show the customer",
                                design.scene.shirt.name, out.difference_mean)});
  out.verdict = !no.empty() ? RangeVerdict::no : !care.empty() ? RangeVerdict::care : RangeVerdict::works;
  out.why = std::move(no);
  out.why.insert(out.why.end(), care.begin(), care.end());
  if (out.why.size() > kMostReasons) out.why.resize(kMostReasons);
}

/// What is left of the design must still be lighter than the cloth that shades it.
void RangeJudge::shade(const PrintModel& model, std::vector<RangeReason>& no) {
  const XYZ white = model.table.weights().white;
  std::vector<double> cover(model.plates.size(), 0.0);
  const double bare = lab_from_xyz(model.table.mix(cover), white).l;
  double lightest = 0;
  for (std::size_t p = 0; p < cover.size(); ++p) {
    cover.assign(cover.size(), 0.0);
    cover[p] = 1;
    lightest = std::max(lightest, lab_from_xyz(model.table.mix(cover), white).l);
  }
  if (lightest >= bare + kLighterBy) return;
  no.push_back(
      {"shirt-too-light", "the shirt is no shade of it",
       fmt::format("its lightest ink (L* {:.0f}) is not lighter by {:.0f} than the cloth (L* {:.0f}), which "
                   "was to be the shade",
                   lightest, kLighterBy, bare)});
}

}  // namespace kirtle
