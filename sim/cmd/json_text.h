#pragma once
// What every command's JSON has in common.
#include <cmath>
#include <nlohmann/json.hpp>
#include <string>

namespace kirtle {

/// JSON has no infinity: null says "never", or "no limit".
inline nlohmann::json finite(double v) {
  return std::isfinite(v) ? nlohmann::json(v) : nlohmann::json(nullptr);
}

/// Two spaces deep. Bytes that are not UTF-8, as names of files can have, become U+FFFD.
inline std::string json_text(const nlohmann::json& j) {
  return j.dump(2, ' ', false, nlohmann::json::error_handler_t::replace);
}

}  // namespace kirtle
