// What a customer may expect and is asked, in plain words, from the numbers of a study.
#include "light/delta_e_2000.h"
#include "proof/print_study.h"
#include "proof/sha256.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <functional>
#include <set>

namespace kirtle {

namespace {

/// Ink nearer to the shirt in lightness than this is asked about: type in it may not be read. Common
/// practice, no source: 20 to 25.
constexpr double kNearInLightness = 22;
/// Where the page shows an ink more than this beside its colour, it says so: about what is seen side by side.
constexpr double kOutsideToSay = 1;
/// An ink that differs less than this from the shirt is as good as lost on it. Common practice, no source:
/// over 4 seen.
constexpr double kHardlySeen = 4;

std::string joined(const std::vector<std::string>& names) {
  std::string out;
  for (std::size_t i = 0; i < names.size(); ++i)
    out += (i == 0 ? "" : i + 1 == names.size() ? " and " : ", ") + names[i];
  return out;
}

/// "Cream (on Sand, cotton)": the shirts are named only where it holds on some of several.
std::string on_shirts(const PrintStudy& study, const std::string& what,
                      const std::vector<std::string>& shirts) {
  if (shirts.size() == study.shirts.size()) return what;
  std::string out = what + " (on ";
  for (std::size_t i = 0; i < shirts.size(); ++i) out += (i > 0 ? "; " : "") + shirts[i];
  return out + ")";
}

/// Inks for which `holds` is true, with the shirts on which it is.
std::vector<std::string> inks_where(const PrintStudy& study,
                                    const std::function<bool(const InkStudy&, std::size_t)>& holds) {
  std::vector<std::string> out;
  for (const InkStudy& ink : study.inks) {
    std::vector<std::string> shirts;
    for (std::size_t s = 0; s < study.shirts.size(); ++s)
      if (!ink.not_predicted && holds(ink, s)) shirts.push_back(study.shirts[s].name);
    if (!shirts.empty()) out.push_back(on_shirts(study, ink.customer, shirts));
  }
  return out;
}

/// In words, dE00 (common practice, no source).
const char* difference_words(double de00) {
  return de00 < 1   ? "hardly anyone will see a difference"
         : de00 < 2 ? "a difference is seen only side by side"
         : de00 < 4 ? "a difference can be seen"
                    : "a difference will be seen";
}

std::string colour_words(const PrintStudy& study) {
  std::vector<const Provenance*> all{&study.scene.shirt.provenance};
  for (const ScenePass& pass : study.scene.passes) all.push_back(&pass.ink.provenance);
  DataStatus worst = DataStatus::measured;
  double sigma = 0;
  bool stated = true;
  for (const Provenance* p : all) {
    worst = std::max(worst, p->status);  // in the order of the enumeration: measured is best
    sigma = std::max(sigma, p->colour_sigma_de00);
    stated = stated && p->colour_sigma_de00 > 0;
  }
  switch (worst) {
    case DataStatus::measured:
      if (!stated)
        return "Colours are predicted from measured inks and cloth; how near they come is not stated.";
      return fmt::format(
          "Colours are predicted from measured inks and cloth. About two prints in three should come within "
          "{:.0f} "
          "dE00 of this page's figures: {}.",
          std::max(1.0, std::ceil(sigma)), difference_words(sigma));
    case DataStatus::literature:
      return "Colours are predicted from printed figures for materials of this kind, not from these very "
             "inks and "
             "shirts: expect a difference that can be seen.";
    case DataStatus::estimated:
      return "Some inks or the shirt are known from a swatch or by name only. Expect prints to differ from "
             "this page "
             "visibly, by 4 to 6 dE00 at best (an estimate). A test print decides.";
    case DataStatus::invented:
      return "The inks or the shirt behind this page are demonstration data, of no real material. Take the "
             "colours as "
             "a guide to how they sit together, not as a promise. A test print decides.";
  }
  return {};
}

const char* hue_word(double degrees) {
  static constexpr struct {
    double up_to;
    const char* word;
  } kHues[] = {{20, "pink"},        {60, "orange-brown"}, {105, "tan to yellow"}, {165, "green"},
               {220, "blue-green"}, {285, "blue"},        {335, "violet"},        {360, "pink"}};
  for (const auto& h : kHues)
    if (degrees < h.up_to) return h.word;
  return "pink";
}

/// What discharge leaves of a cloth, without its name.
std::string discharge_words(const ShirtStudy& shirt) {
  const double moved = delta_e_2000(shirt.bare, shirt.discharged);
  // White and natural cloth has no dye to take out, and light colours need none taken out.
  constexpr double kPale = 85;
  if (moved < 3 && shirt.bare.l > kPale)
    return "there is no dye to take out, so colours print on the cloth as it is.";
  if (moved < 3) return "the dye hardly gives way to discharge, so light colours will hardly show.";
  const double c = chroma(shirt.discharged);
  const char* tan =
      shirt.discharged.b > 4 && shirt.discharged.b > std::abs(shirt.discharged.a) ? ", leaning tan" : "";
  if (shirt.discharged.l > 70 && c < 17)
    return fmt::format(
        "where ink takes the dye out, the cloth turns off-white{}, never paper white; light colours lean "
        "the same way. The shade changes from dye lot to dye lot.",
        tan);
  return fmt::format(
      "where ink takes the dye out, a {} {} shade stays in the cloth, and colours on it lean that way. The "
      "shade changes from dye lot to dye lot.",
      shirt.discharged.l > 60 ? "light" : "darker", c < 8 ? "grey" : hue_word(hue_degrees(shirt.discharged)));
}

/// Common practice, no source: what a hand feels of an ink layer.
std::string hand_words(double build_um) {
  const char* words = build_um < 5    ? "soft: the ink is in the cloth and is hardly felt"
                      : build_um < 20 ? "a thin layer that is just felt"
                      : build_um < 50 ? "a layer that is plainly felt"
                                      : "a heavy layer, smooth and stiff where it is solid";
  return fmt::format("Feel: {} (up to {:.3f} mm of ink on top of the cloth).", words, build_um / 1000);
}

}  // namespace

std::vector<std::string> expectations(const PrintStudy& study) {
  std::vector<std::string> out{colour_words(study)};
  const bool discharges =
      std::any_of(study.inks.begin(), study.inks.end(), [](const InkStudy& i) { return i.discharges; });
  if (discharges) {
    std::vector<std::pair<std::string, std::vector<std::string>>> said;  // shirts of like words together
    for (const ShirtStudy& shirt : study.shirts) {
      const std::string words = discharge_words(shirt);
      const auto it = std::find_if(said.begin(), said.end(), [&](const auto& s) { return s.first == words; });
      if (it == said.end()) {
        said.push_back({words, {shirt.name}});
      } else {
        it->second.push_back(shirt.name);
      }
    }
    for (const auto& [words, shirts] : said) {
      std::string names;
      for (const std::string& name : shirts) names += (names.empty() ? "" : "; ") + name;
      out.push_back(names + ": " + words);
    }
  }
  const std::vector<std::string> lost = inks_where(study, [&](const InkStudy& ink, std::size_t s) {
    return delta_e_2000(ink.on[s].lab, study.shirts[s].bare) < kHardlySeen;
  });
  if (!lost.empty()) out.push_back("Hardly to be seen beside the bare shirt: " + joined(lost) + ".");
  double build = 0, lightest = 0;
  for (const InkStudy& ink : study.inks) {
    build = std::max(build, ink.on.front().ink_build_um);
    if (!ink.not_predicted) lightest = std::max(lightest, ink.on.front().lab.l);
  }
  if (study.shirts.front().bare.l < 50 && lightest > 60 && lightest < 92 && !discharges) {
    out.push_back(fmt::format(
        "The lightest ink comes out at about {:.0f} on a scale on which white paper has about 95: "
        "cloth shows through a little.",
        lightest));
  }
  out.push_back(hand_words(build));
  std::vector<std::string> flat, vivid;
  for (const InkStudy& ink : study.inks) {
    if (ink.not_predicted) flat.push_back(ink.customer);
    const bool outside = std::any_of(ink.on.begin(), ink.on.end(),
                                     [](const InkOnShirt& on) { return on.outside_de00 > kOutsideToSay; });
    if (outside) vivid.push_back(ink.customer);
  }
  if (!flat.empty())
    out.push_back("Not predicted, drawn flat: " + joined(flat) + ". Ask for a printed sample.");
  if (!vivid.empty())
    out.push_back("More vivid in ink than this page can show: " + joined(vivid) +
                  " (marked in the list of inks).");
  if (study.run && study.share_asked) {
    const ShirtShare& seen = study.run->showing.visible;
    out.push_back(fmt::format("Of {} shirts about {} may show shirt or base beside a colour at arm's length.",
                              seen.of, seen.shirts));
  }
  return out;
}

std::vector<std::string> questions(const Order& order, const PrintStudy& study) {
  std::vector<std::string> out;
  const std::vector<std::string> near = inks_where(study, [&](const InkStudy& ink, std::size_t s) {
    return std::abs(ink.on[s].lab.l - study.shirts[s].bare.l) < kNearInLightness;
  });
  if (!near.empty())
    out.push_back(
        fmt::format("Little contrast with the shirt: {}. Tick if small lettering in {} must be readable.",
                    joined(near), near.size() > 1 ? "them" : "it"));
  const FitReport& fit = study.fit;
  const double width_in = study.width_mm / kMmPerInch, height_in = study.height_mm / kMmPerInch;
  if (!fit.too_small.empty() && fit.offered.empty()) {
    out.push_back(
        fmt::format("This print of {:.1f} x {:.1f} in is larger than usual for {}. Print it {:g} in wide?",
                    width_in, height_in, sizes_text(fit.too_small), fit.one_set_width_in));
  } else if (!fit.too_small.empty() && order.sets == ScreenSets::one) {
    const ShirtSize smallest = fit.too_small.front();
    const PrintSize most = most_print(smallest, study.print.location),
                    usual = usual_print(true, study.print.location);
    out.push_back(fmt::format(
        "{:.1f} x {:.1f} in is too large for {} ({} takes {:g} x {:g} in at most{}). Print all {:g} in wide, "
        "or "
        "make two sets of screens: {:g} in for {}, {:g} in for {}?",
        width_in, height_in, sizes_text(fit.too_small), to_string(smallest), most.width_in, most.height_in,
        is_youth(smallest)
            ? fmt::format(", usual on youth sizes is {:g} x {:g} in", usual.width_in, usual.height_in)
            : std::string(),
        fit.one_set_width_in, fit.offered[0].width_in, sizes_text(fit.offered[0].sizes),
        std::round(fit.offered[1].width_in * 10) / 10, sizes_text(fit.offered[1].sizes)));
  }
  const ExtremeSizes sizes = extreme_sizes(order);
  const DropRange least = drop_range(is_youth(sizes.smallest), study.print.location),
                  most = drop_range(is_youth(sizes.largest), study.print.location);
  const double drop_in = drop_mm(study.print, sizes.largest) / kMmPerInch;
  if (!(drop_in > least.low_in - 0.01 && drop_in < most.high_in + 0.01)) {
    out.push_back(
        fmt::format("{:.1f} in {} is unusual ({:g} to {:g} in is usual). Is it meant?", drop_in,
                    study.print.location == PrintLocation::sleeve ? "above the hem" : "below the collar",
                    least.low_in, most.high_in));
  }
  return out;
}

std::string checksum_of(const Order& order, const std::vector<PrintStudy>& studies) {
  std::string all = sha256_of_file(order.file);
  for (const PrintStudy& study : studies) {
    all += sha256_of_file(study.scene.file);
    std::set<std::filesystem::path> seen;
    for (const ScenePlate& plate : study.scene.plates)
      if (seen.insert(plate.file).second) all += sha256_of_file(plate.file);
  }
  return sha256_hex(all);
}

std::string short_checksum(const std::string& hex) {
  std::string out;
  for (std::size_t i = 0; i < 16; i += 4) out += (i > 0 ? " " : "") + hex.substr(i, 4);
  return out;
}

}  // namespace kirtle
