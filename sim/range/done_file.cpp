#include "range/done_file.h"

#include "base/check.h"
#include "proof/sha256.h"

#include <fmt/format.h>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

namespace kirtle {

namespace {

constexpr std::size_t kMostBytes = std::size_t{64} << 20;
constexpr int kMostCount = 1 << 20;  // of screens, flashes and AreaTuples::step, which ends at 65536
constexpr double kMostDe00 = 200;    // no two colours are as far apart
constexpr const char* kHead = "kirtle range 1 ";

using nlohmann::json;

json done_line(const RangeLine& line) {
  const RangeFigures& f = line.figures;
  json why = json::array();
  for (const RangeReason& reason : f.why) why.push_back({reason.kind, reason.brief, reason.what});
  return {{"variant", static_cast<int>(line.variant)},
          {"id", line.id},
          {"called", line.called},
          {"changed", line.changed},
          {"screens", line.screens},
          {"new_screens", line.new_screens},
          {"flashes", line.flashes},
          {"verdict", static_cast<int>(f.verdict)},
          {"why", std::move(why)},
          {"difference_mean", f.difference_mean},
          {"difference_p95", f.difference_p95},
          {"contrast", f.contrast},
          {"lost_share", f.lost_share},
          {"width", f.width},
          {"height", f.height}};
}

/// A whole number from 0 to `most`. json::get<int> cuts the others off, and of 1e30 its behaviour is
/// undefined.
int whole(const json& j, int most) {
  if (!j.is_number_unsigned() || j.get<std::uint64_t>() > static_cast<std::uint64_t>(most))
    throw std::out_of_range("number");
  return j.get<int>();
}

/// A number from 0 to `most`.
double figure(const json& j, double most) {
  const double v = j.get<double>();
  if (!(v >= 0 && v <= most)) throw std::out_of_range("number");
  return v;
}

RangeLine line_from(const json& j) {
  RangeLine out;
  out.variant =
      static_cast<RangeVariant>(whole(j.at("variant"), static_cast<int>(RangeVariant::inks_swapped)));
  out.id = j.at("id").get<std::string>();
  out.called = j.at("called").get<std::string>();
  out.changed = j.at("changed").get<std::string>();
  out.screens = whole(j.at("screens"), kMostCount);
  out.new_screens = whole(j.at("new_screens"), kMostCount);
  out.flashes = whole(j.at("flashes"), kMostCount);
  RangeFigures& f = out.figures;
  f.verdict = static_cast<RangeVerdict>(whole(j.at("verdict"), static_cast<int>(RangeVerdict::no)));
  for (const json& why : j.at("why"))
    f.why.push_back(
        {why.at(0).get<std::string>(), why.at(1).get<std::string>(), why.at(2).get<std::string>()});
  f.difference_mean = figure(j.at("difference_mean"), kMostDe00);
  f.difference_p95 = figure(j.at("difference_p95"), kMostDe00);
  f.contrast = figure(j.at("contrast"), kMostDe00);
  f.lost_share = figure(j.at("lost_share"), 1 + 1e-9);  // a sum of shares
  f.width = whole(j.at("width"), AreaTuples::kMostPictureSide);
  f.height = whole(j.at("height"), AreaTuples::kMostPictureSide);
  return out;
}

RangeItem parsed(const std::string& body) {
  const std::size_t end = body.find('\n');
  if (end == std::string::npos) throw std::out_of_range("line");
  const json j = json::parse(body.substr(0, end));
  RangeItem out;
  out.key = j.at("key").get<std::string>();
  out.shirt = j.at("shirt").get<std::string>();
  out.shirt_name = j.at("shirt_name").get<std::string>();
  out.fibre_text = j.at("fibre").get<std::string>();
  out.not_tried = j.at("not_tried").get<std::vector<std::string>>();
  out.plates_sent_back = j.at("plates_sent_back").get<std::vector<std::string>>();
  out.cautions_at_home = j.at("cautions_at_home").get<std::vector<std::string>>();
  out.step = whole(j.at("step"), kMostCount);
  std::size_t at = end + 1;
  for (const json& line : j.at("lines")) {
    out.lines.push_back(line_from(line));
    RangeFigures& f = out.lines.back().figures;
    const std::size_t bytes =
        std::size_t{3} * static_cast<std::size_t>(f.width) * static_cast<std::size_t>(f.height);
    if (body.size() - at < bytes) throw std::out_of_range("pixels");
    f.rgb.assign(body.begin() + static_cast<std::ptrdiff_t>(at),
                 body.begin() + static_cast<std::ptrdiff_t>(at + bytes));
    at += bytes;
  }
  if (at != body.size() || out.lines.empty()) throw std::out_of_range("end");
  return out;
}

}  // namespace

std::string done_bytes(const RangeItem& item) {
  json j{{"key", item.key},
         {"shirt", item.shirt},
         {"shirt_name", item.shirt_name},
         {"fibre", item.fibre_text},
         {"not_tried", item.not_tried},
         {"plates_sent_back", item.plates_sent_back},
         {"cautions_at_home", item.cautions_at_home},
         {"step", item.step},
         {"lines", json::array()}};
  std::string pixels;
  for (const RangeLine& line : item.lines) {
    j["lines"].push_back(done_line(line));
    pixels.append(line.figures.rgb.begin(), line.figures.rgb.end());
  }
  const std::string body = j.dump(-1, ' ', true, json::error_handler_t::replace) + "\n" + pixels;
  return kHead + sha256_hex(body) + "\n" + body;
}

std::optional<RangeItem> item_from(const std::string& bytes, const std::string& key) {
  const std::size_t end = bytes.find('\n');
  if (end == std::string::npos || !bytes.starts_with(kHead)) return std::nullopt;
  const std::string body = bytes.substr(end + 1);
  if (bytes.substr(0, end) != kHead + sha256_hex(body)) return std::nullopt;
  try {
    RangeItem out = parsed(body);
    if (out.key != key) return std::nullopt;
    return out;
  } catch (const json::exception&) {
    return std::nullopt;
  } catch (const std::out_of_range&) {
    return std::nullopt;
  }
}

std::filesystem::path done_path(const std::filesystem::path& folder, const std::string& key) {
  return folder / "done" / (key + ".range");
}

std::optional<RangeItem> read_done(const std::filesystem::path& folder, const RangeItem& planned,
                                   Diagnostics& notes) {
  const std::filesystem::path file = done_path(folder, planned.key);
  std::error_code ignored;
  if (!std::filesystem::exists(file, ignored)) return std::nullopt;
  std::optional<RangeItem> out;
  if (std::filesystem::is_regular_file(file, ignored) &&
      std::filesystem::file_size(file, ignored) <= kMostBytes) {
    std::ifstream in(file, std::ios::binary);
    const std::string bytes{std::istreambuf_iterator<char>(in), {}};
    if (in.good() || in.eof()) out = item_from(bytes, planned.key);
    if (out && out->shirt != planned.shirt) out.reset();
  }
  if (!out)
    notes.warning({file.string(), 0, 0}, "this finished piece is damaged; it is worked out again",
                  "look whether the disk is full or failing");
  return out;
}

}  // namespace kirtle
