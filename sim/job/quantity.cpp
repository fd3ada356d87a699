#include "job/quantity.h"

#include "base/units.h"

#include <charconv>
#include <cmath>
#include <span>

namespace kirtle {
namespace {

struct Unit {
  std::string_view name;
  double factor;      // to the measure's own unit
  double offset = 0;  // added before the factor
};

constexpr Unit kMm[] = {{"um", 1e-3}, {"\u00b5m", 1e-3},  {"\u03bcm", 1e-3},  {"mm", 1},
                        {"cm", 10},   {"in", kMmPerInch}, {"pt", kMmPerPoint}};
constexpr Unit kUm[] = {{"um", 1},   {"\u00b5m", 1},     {"\u03bcm", 1},           {"mm", 1e3},
                        {"cm", 1e4}, {"in", kUmPerInch}, {"pt", 1e3 * kMmPerPoint}};
constexpr Unit kMesh[] = {{"/cm", 1}, {"/in", 1 / kCmPerInch}};
constexpr Unit kTemperature[] = {{"C", 1}, {"\u00b0C", 1}, {"F", 1 / 1.8, -32}, {"\u00b0F", 1 / 1.8, -32}};
constexpr Unit kTime[] = {{"s", 1}, {"min", 60}, {"h", 3600}};

std::span<const Unit> table_of(Measure measure) {
  switch (measure) {
    case Measure::length_mm:
      return kMm;
    case Measure::length_um:
      return kUm;
    case Measure::mesh_per_cm:
      return kMesh;
    case Measure::temperature_c:
      return kTemperature;
    case Measure::time_s:
      return kTime;
  }
  return {};
}

void skip_spaces(std::string_view& text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
}

std::optional<double> take_number(std::string_view& text) {
  double x = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), x);
  if (error != std::errc() || !std::isfinite(x)) return std::nullopt;
  text.remove_prefix(static_cast<std::size_t>(end - text.data()));
  return x;
}

}  // namespace

std::string units_of(Measure measure) {
  switch (measure) {
    case Measure::length_mm:
    case Measure::length_um:
      return "um, mm, cm, in or pt";
    case Measure::mesh_per_cm:
      return "/cm or /in";
    case Measure::temperature_c:
      return "C or F";
    case Measure::time_s:
      return "s, min or h";
  }
  return {};
}

std::string example_of(Measure measure) {
  switch (measure) {
    case Measure::length_mm:
      return "\"0.3 mm\"";
    case Measure::length_um:
      return "\"45 um\"";
    case Measure::mesh_per_cm:
      return "\"156/in\"";
    case Measure::temperature_c:
      return "\"160 C\"";
    case Measure::time_s:
      return "\"90 s\"";
  }
  return {};
}

std::optional<double> quantity_from(std::string_view text, Measure measure) {
  skip_spaces(text);
  std::optional<double> x = take_number(text);
  if (!x) return std::nullopt;
  if (text.size() > 1 && text[0] == '/' && text[1] >= '0' && text[1] <= '9') {
    text.remove_prefix(1);
    const std::optional<double> divisor = take_number(text);
    if (!divisor || !(*divisor > 0)) return std::nullopt;
    *x /= *divisor;
  }
  skip_spaces(text);
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  for (const Unit& unit : table_of(measure)) {
    if (text != unit.name) continue;
    const double result = (*x + unit.offset) * unit.factor;
    return std::isfinite(result) ? std::optional(result) : std::nullopt;
  }
  return std::nullopt;
}

bool is_bare_number(std::string_view text) {
  skip_spaces(text);
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  return !text.empty() && take_number(text) && text.empty();
}

}  // namespace kirtle
