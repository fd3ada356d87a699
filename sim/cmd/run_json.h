#pragma once
// Figures of a run that several commands put into their JSON.
#include "verdict/showing.h"

#include <cmath>
#include <nlohmann/json.hpp>

namespace kirtle {

inline nlohmann::json to_json(const ShirtShare& s) {
  return {{"shirts", s.shirts}, {"of", s.of}, {"share", s.share}, {"low", s.low}, {"high", s.high}};
}

/// JSON has no infinity: null says "never".
inline nlohmann::json finite(double v) {
  return std::isfinite(v) ? nlohmann::json(v) : nlohmann::json(nullptr);
}

}  // namespace kirtle
