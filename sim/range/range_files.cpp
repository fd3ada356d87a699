#include "range/range.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace kirtle {

namespace {

using nlohmann::json;

/// As many decimals as mean something.
double rounded(double v, double per) { return std::round(v * per) / per; }

std::string joined(const std::vector<RangeReason>& why) {
  std::string out;
  for (const RangeReason& reason : why) out += (out.empty() ? "" : "; ") + reason.what;
  return out;
}

/// One field of a CSV file (RFC 4180). What a spreadsheet would take for a formula is kept text by a leading
/// apostrophe.
std::string field(const std::string& raw) {
  std::string text = printable(raw, 2000);
  if (!text.empty() && std::string_view("=+-@").find(text.front()) != std::string_view::npos)
    text.insert(0, "'");
  if (text.find_first_of(",\"\n\r;") == std::string::npos) return text;
  std::string out = "\"";
  for (const char c : text) out += c == '"' ? std::string("\"\"") : std::string(1, c);
  return out + "\"";
}

int difference_class(double de00) { return de00 < 1 ? 0 : de00 < 2 ? 1 : de00 < kAnotherColour ? 2 : 3; }

/// The same, and another colour in steps of 4: less between two of them is not worth a change.
int difference_band(double de00) {
  const int words = difference_class(de00);
  return words < 3 ? words : words + static_cast<int>((de00 - kAnotherColour) / kAnotherColour);
}

json to_json(const RangeLine& line) {
  const RangeFigures& f = line.figures;
  json why = json::array();
  for (const RangeReason& reason : f.why)
    why.push_back({{"kind", reason.kind}, {"brief", reason.brief}, {"what", reason.what}});
  return {{"variant", variant_id(line.variant)},
          {"id", line.id},
          {"called", line.called},
          {"changed", line.changed},
          {"verdict", to_string(f.verdict)},
          {"why", std::move(why)},
          {"difference_mean_dE00", rounded(f.difference_mean, 100)},
          {"difference_p95_dE00", rounded(f.difference_p95, 100)},
          {"difference", difference_in_words(f.difference_mean)},
          {"contrast_to_cloth_dE00", rounded(f.contrast, 100)},
          {"share_lost_in_cloth", rounded(f.lost_share, 1000)},
          {"screens", line.screens},
          {"new_screens", line.new_screens},
          {"flashes", line.flashes}};
}

}  // namespace

std::string_view difference_in_words(double de00) {
  constexpr std::string_view kWords[] = {"none to see", "side by side only", "seen", "another colour"};
  return kWords[difference_class(de00)];
}

std::vector<RangeEntry> sorted_entries(const RangeResult& result) {
  std::vector<RangeEntry> out;
  for (const RangeItem& item : result.items)
    for (const RangeLine& line : item.lines) out.push_back({&item, &line});
  std::stable_sort(out.begin(), out.end(), [](const RangeEntry& a, const RangeEntry& b) {
    const RangeFigures &x = a.line->figures, &y = b.line->figures;
    if (x.verdict != y.verdict) return x.verdict < y.verdict;
    return x.difference_mean < y.difference_mean;
  });
  return out;
}

const RangeLine& best_line(const RangeItem& item) {
  return *std::min_element(item.lines.begin(), item.lines.end(), [](const RangeLine& a, const RangeLine& b) {
    const RangeFigures &x = a.figures, &y = b.figures;
    if (x.verdict != y.verdict) return x.verdict < y.verdict;
    const int p = difference_band(x.difference_mean), q = difference_band(y.difference_mean);
    if (p != q) return p < q;
    if (a.new_screens != b.new_screens) return a.new_screens < b.new_screens;
    const bool kept = a.variant == RangeVariant::as_is, other_kept = b.variant == RangeVariant::as_is;
    if (kept != other_kept) return kept;
    return x.difference_mean < y.difference_mean;
  });
}

std::string range_json(const std::vector<Scene>& scenes, const RangeResult& result) {
  json j{{"kirtle_range", 1}, {"scenes", json::array()}, {"items", json::array()}};
  for (const Scene& scene : scenes)
    j["scenes"].push_back({{"file", scene.file.string()},
                           {"title", scene.title},
                           {"shirt", scene.shirt.id},
                           {"light", scene.light}});
  for (const RangeItem& item : result.items) {
    json one{{"scene", item.scene},
             {"shirt", item.shirt},
             {"shirt_name", item.shirt_name},
             {"fibre", item.fibre_text},
             {"own_shirt", item.own_shirt},
             {"take", best_line(item).id},
             {"plates_sent_back", item.plates_sent_back},
             {"cautions_at_home", item.cautions_at_home},
             {"not_tried", item.not_tried},
             {"coverage_step", item.step},
             {"designs", json::array()}};
    for (const RangeLine& line : item.lines) one["designs"].push_back(to_json(line));
    j["items"].push_back(std::move(one));
  }
  return j.dump(2, ' ', false, json::error_handler_t::replace) + "\n";
}

std::string range_csv(const std::vector<Scene>& scenes, const RangeResult& result) {
  std::string out =
      "scene,shirt,shirt_name,fibre,design,called,verdict,difference_mean_dE00,difference_p95_dE00,"
      "difference,"
      "contrast_to_cloth_dE00,share_lost_in_cloth,screens,new_screens,flashes,take,why\n";
  for (const RangeEntry& e : sorted_entries(result)) {
    const RangeItem& item = *e.item;
    const RangeLine& line = *e.line;
    const RangeFigures& f = line.figures;
    out += fmt::format("{},{},{},{},{},{},{},{:.2f},{:.2f},{},{:.2f},{:.3f},{},{},{},{},{}\n",
                       field(scenes[item.scene].title), field(item.shirt), field(item.shirt_name),
                       field(item.fibre_text), field(line.id), field(line.called), to_string(f.verdict),
                       f.difference_mean, f.difference_p95, difference_in_words(f.difference_mean),
                       f.contrast, f.lost_share, line.screens, line.new_screens, line.flashes,
                       &best_line(item) == &line ? "yes" : "", field(joined(f.why)));
  }
  return out;
}

}  // namespace kirtle
