#include "proof/print_fit.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace kirtle {

namespace {

struct SizeRow {
  ShirtMeasures shirt;
  PrintSize front;
};

// Common practice, no source, from memory; in ShirtSize's order.
constexpr std::array<SizeRow, kShirtSizes> kSizes = {{
    {{15.5, 20}, {9, 11}},       // YXS
    {{16.5, 21.5}, {9.5, 12}},   // YS
    {{17.5, 23}, {10, 12.5}},    // YM
    {{18.5, 24.5}, {10.5, 13}},  // YL
    {{19.5, 26}, {11, 13.5}},    // YXL
    {{16.5, 27}, {11.5, 14}},    // XS
    {{18, 28}, {12.5, 15}},      // S
    {{20, 29}, {13.5, 16}},      // M
    {{22, 30}, {14, 17}},        // L
    {{24, 31}, {15, 18}},        // XL
    {{26, 32}, {15, 18}},        // 2XL
    {{28, 33}, {15, 18}},        // 3XL
    {{30, 34}, {15, 18}},        // 4XL
    {{32, 35}, {15, 18}},        // 5XL
}};

const SizeRow& row_of(ShirtSize size) { return kSizes[static_cast<std::size_t>(size)]; }

bool takes(ShirtSize size, PrintLocation location, double width_in, double height_in) {
  constexpr double kSlackIn = 0.005;
  const PrintSize most = most_print(size, location);
  return width_in <= most.width_in + kSlackIn && height_in <= most.height_in + kSlackIn;
}

/// Largest width of this shape that all sizes take, to a half inch (a quarter where prints are small).
double common_width(double shape, PrintLocation location, const std::vector<ShirtSize>& sizes) {
  double width = 1e9;
  for (const ShirtSize size : sizes) {
    const PrintSize most = most_print(size, location);
    width = std::min({width, most.width_in, most.height_in / shape});
  }
  const double step = width < 5 ? 0.25 : 0.5;
  return std::max(step, std::floor(width / step + 1e-9) * step);
}

}  // namespace

ShirtMeasures measures_of(ShirtSize size) { return row_of(size).shirt; }

PrintSize most_print(ShirtSize size, PrintLocation location) {
  const bool youth = is_youth(size);
  switch (location) {
    case PrintLocation::front:
    case PrintLocation::back:
      return row_of(size).front;
    case PrintLocation::left_chest:
      return youth ? PrintSize{3.5, 3.5} : PrintSize{4.5, 4.5};
    case PrintLocation::sleeve:
      return youth ? PrintSize{2.75, 3} : PrintSize{4, 4};
    case PrintLocation::nape:
      return youth ? PrintSize{3, 2.5} : PrintSize{4.5, 3.5};
  }
  return {};
}

PrintSize usual_print(bool youth, PrintLocation location) {
  switch (location) {
    case PrintLocation::front:
    case PrintLocation::back:
      return youth ? PrintSize{9, 12} : PrintSize{12, 14};
    case PrintLocation::left_chest:
      return youth ? PrintSize{3, 3} : PrintSize{3.5, 3.5};
    case PrintLocation::sleeve:
      return youth ? PrintSize{2.5, 2.5} : PrintSize{3.5, 3.5};
    case PrintLocation::nape:
      return youth ? PrintSize{2.5, 2} : PrintSize{3, 2};
  }
  return {};
}

DropRange drop_range(bool youth, PrintLocation location) {
  switch (location) {
    case PrintLocation::front:
      return youth ? DropRange{1.5, 2.5, 2} : DropRange{2, 3.5, 3};
    case PrintLocation::back:
      return youth ? DropRange{2.5, 4, 3} : DropRange{3, 5, 4};
    case PrintLocation::left_chest:
      return youth ? DropRange{1.5, 3, 2} : DropRange{2, 4, 3};
    case PrintLocation::sleeve:
      return {0.75, 2, 1};
    case PrintLocation::nape:
      return {0.75, 2, 1};
  }
  return {};
}

FitReport fit_print(double width_in, double height_in, PrintLocation location,
                    const std::vector<ShirtSize>& sizes) {
  FitReport out;
  const double shape = height_in / width_in;
  for (const ShirtSize size : sizes)
    (takes(size, location, width_in, height_in) ? out.fits : out.too_small).push_back(size);
  if (sizes.empty()) return out;
  out.one_set_width_in = std::min(width_in, common_width(shape, location, sizes));
  if (out.too_small.empty() || out.fits.empty()) return out;
  out.offered = {{common_width(shape, location, out.too_small), out.too_small}, {width_in, out.fits}};
  return out;
}

std::string sizes_text(const std::vector<ShirtSize>& sizes) {
  std::string out;
  for (std::size_t i = 0; i < sizes.size(); ++i) {
    if (i > 0) out += i + 1 == sizes.size() ? " and " : ", ";
    out += to_string(sizes[i]);
  }
  return out;
}

}  // namespace kirtle
