#include "proof/proof_words.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace kirtle {

namespace {

/// Titles of several prints are told together up to so many characters.
constexpr std::size_t kLongTitle = 60;
/// Beside its colour by more than this, a swatch is marked.
constexpr double kOutside = 0.5;

bool any_discharges(const std::vector<PrintStudy>& studies) {
  return std::any_of(studies.begin(), studies.end(), [](const PrintStudy& s) {
    return std::any_of(s.inks.begin(), s.inks.end(), [](const InkStudy& i) { return i.discharges; });
  });
}

}  // namespace

std::string proof_title(const Order& order, const std::vector<PrintStudy>& studies) {
  if (!order.title.empty()) return order.title;
  const std::string& first = studies.front().scene.title;
  std::vector<std::string> titles;
  for (const PrintStudy& study : studies)
    if (std::find(titles.begin(), titles.end(), study.scene.title) == titles.end())
      titles.push_back(study.scene.title);
  const std::string all = fmt::format("{}", fmt::join(titles, ", "));
  if (titles.size() == 1 || all.size() <= kLongTitle) return all;
  return fmt::format("{} and {} more", first, titles.size() - 1);
}

std::string proof_for(const Order& order) {
  return order.customer.empty() ? "Proof for approval" : "Proof for " + order.customer;
}

std::vector<std::string> proof_facts(const Order& order) {
  std::vector<std::string> facts;
  if (!order.number.empty()) facts.push_back("Order " + order.number);
  std::string version = fmt::format("Version {}", order.version);
  if (order.replaces > 0) version += fmt::format(", replaces version {}", order.replaces);
  facts.push_back(version);
  if (!order.date.empty()) facts.push_back("Proof of " + order.date);
  if (!order.due.empty()) facts.push_back("Due " + order.due);
  return facts;
}

std::string location_heading(PrintLocation location) {
  std::string out(to_string(location));
  out[0] = static_cast<char>(out[0] - 'a' + 'A');
  return out + " print";
}

std::string size_text(const Order& order, const PrintStudy& study) {
  return fmt::format("{} wide, {} high, {}", both_units(study.width_mm), both_units(study.height_mm),
                     drop_text(study.print, extreme_sizes(order)));
}

std::string print_heading(const Order& order, const PrintStudy& study) {
  return print_title(order, study) + ": " + size_text(order, study);
}

std::string print_title(const Order& order, const PrintStudy& study) {
  const std::string place = location_heading(study.print.location);
  return order.prints.size() > 1 ? place + ", " + study.scene.title : place;
}

std::string drop_text(const OrderPrint& print, const ExtremeSizes& sizes) {
  const double small = drop_mm(print, sizes.smallest), large = drop_mm(print, sizes.largest);
  std::string out = both_units(large);
  if (std::abs(small - large) > 0.5) out = both_units(small) + " (youth) and " + out + " (adult)";
  return out + (print.location == PrintLocation::sleeve ? " above the hem of the left sleeve"
                                                        : " below the collar");
}

double width_for(const Order& order, const PrintStudy& study, ShirtSize size) {
  if (order.sets == ScreenSets::two) {
    for (const ScreenSet& set : study.fit.offered)
      if (std::find(set.sizes.begin(), set.sizes.end(), size) != set.sizes.end())
        return set.width_in * kMmPerInch;
  }
  return study.width_mm;
}

std::vector<DrawnSize> drawn_sizes(const Order& order) {
  const ExtremeSizes sizes = extreme_sizes(order);
  const bool one = sizes.smallest == sizes.largest;
  const auto drawn = [&](ShirtSize size, const char* which) {
    const ShirtMeasures m = measures_of(size);
    return DrawnSize{
        size, sizes.assumed
                  ? fmt::format("drawn on {}, {:g} x {:g} in", to_string(size), m.chest_in, m.length_in)
                  : fmt::format("{} {}, {:g} x {:g} in", to_string(size), which, m.chest_in, m.length_in)};
  };
  std::vector<DrawnSize> out{drawn(sizes.smallest, one ? "(all shirts)" : "(smallest ordered)")};
  if (!one) out.push_back(drawn(sizes.largest, "(largest ordered)"));
  return out;
}

std::string ink_note(const InkStudy& ink, std::size_t shirts) {
  double outside = 0;
  for (std::size_t s = 0; s < std::min(shirts, ink.on.size()); ++s)
    outside = std::max(outside, ink.on[s].outside_de00);
  std::string note;
  const auto add = [&](const std::string& text) { note += (note.empty() ? "" : "; ") + text; };
  if (ink.not_predicted) add("not predicted, drawn flat");
  if (!ink.over.empty()) add("on " + ink.over);
  if (ink.printed < 1) add(fmt::format("only as a tint, up to {:.0f} %", 100 * ink.printed));
  if (outside > kOutside) add(fmt::format("more vivid than shown, by dE00 {:.1f}", outside));
  return note;
}

std::string garment_alt(const PrintStudy& study, const std::string& shirt) {
  return location_heading(study.print.location) + " on a drawn shirt, " + shirt;
}

std::string shirt_text(const ShirtStudy& shirt) {
  std::string text = shirt.name;
  if (shirt.ordered > 0) text += fmt::format(", {} shirts", shirt.ordered);
  return text;
}

std::string light_words(const std::string& light) {
  if (light == "D50" || light == "D65") return "daylight (" + light + ")";
  if (light == "A") return "a filament lamp (A)";
  if (light.starts_with("LED")) return "an LED lamp (" + light + ")";
  return "a fluorescent lamp (" + light + ")";
}

std::string tolerance_text(const Order& order, const std::vector<PrintStudy>& studies) {
  double mm = order.colours_may_shift.v;
  for (const PrintStudy& study : studies) mm = std::max(mm, study.quoted_mm);
  return fmt::format(
      "What may differ from shirt to shirt: colours may shift against each other by up to {:.1f} mm "
      "({:.2f} in), and the whole print may sit up to {:.0f} mm ({:.1f} in) off its place.",
      mm, mm / kMmPerInch, order.placement_may_shift.v, order.placement_may_shift.v / kMmPerInch);
}

std::vector<std::string> caution_texts(const Order& order, const std::vector<PrintStudy>& studies) {
  std::vector<std::string> out{
      fmt::format("Judge colours at arm's length, under the light that this proof is predicted for: {}. "
                  "They change under other lamps and on screens.",
                  light_words(studies.front().scene.light)),
      "Every dye lot of shirts is test printed before the run. Wash shirts before they are first worn."};
  const bool discharges = any_discharges(studies);
  if (discharges)
    out.push_back(
        "Discharge ink gives off sulphur compounds and formaldehyde while the printer cures it. The ink "
        "supplier's safety data sheet and local rules decide how that is done and whether shirts are washed "
        "before they are handed over.");
  const std::vector<SizeCount> sizes = order.by_size();
  if (!sizes.empty() && is_youth(sizes.front().size)) {
    std::string text = "Youth sizes are ordered: inks and shirts must suit local rules for children's wear.";
    if (discharges) text += " Discharge on youth sizes: " + order.youth_discharge_agreed + ".";
    out.push_back(text);
  }
  return out;
}

std::string approval_heading(const std::vector<PrintStudy>& studies) {
  return studies.size() == 1 ? "Approval" : "Approval of all prints of this order";
}

std::vector<std::string> approval_choices() {
  return {"Approved as shown", "Approved with the changes below", "Not approved: send a new proof"};
}

std::string signed_for(const Order& order, const std::string& short_checksum) {
  return fmt::format(
      "Signed for: version {}, checksum {}. A change to plates, scenes or order changes the checksum.",
      order.version, short_checksum);
}

std::string proof_foot(const std::string& short_checksum) {
  return fmt::format(
      "Checksum of plates, scenes and order: {}  |  Shirts are drawings; print and cloth colour are "
      "predicted. Sizes and limits: common practice, no source.",
      short_checksum);
}

std::vector<std::vector<std::string>> shirt_counts(const Order& order, const PrintStudy& study) {
  const std::vector<SizeCount> sizes = order.by_size();
  if (sizes.empty()) return {};
  std::vector<std::vector<std::string>> rows{{"shirts ordered"}};
  for (const SizeCount& c : sizes) rows[0].emplace_back(to_string(c.size));
  rows[0].emplace_back("all");
  for (const OrderShirts& s : order.shirts) {
    const auto it = std::find_if(study.shirts.begin(), study.shirts.end(),
                                 [&](const ShirtStudy& k) { return k.id == s.shirt; });
    std::vector<std::string> row{it == study.shirts.end() ? s.shirt : it->name};
    if (!s.style.empty()) row[0] += ", " + s.style;
    for (const SizeCount& c : sizes) {
      const auto n = std::find_if(s.counts.begin(), s.counts.end(),
                                  [&](const SizeCount& k) { return k.size == c.size; });
      row.push_back(n == s.counts.end() ? "" : std::to_string(n->shirts));
    }
    row.push_back(std::to_string(s.shirts()));
    rows.push_back(std::move(row));
  }
  return rows;
}

}  // namespace kirtle
