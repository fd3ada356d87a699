#pragma once
// Figures of a run that several commands put into their JSON.
#include "cmd/json_text.h"
#include "verdict/showing.h"

namespace kirtle {

inline nlohmann::json to_json(const ShirtShare& s) {
  return {{"shirts", s.shirts}, {"of", s.of}, {"share", s.share}, {"low", s.low}, {"high", s.high}};
}

}  // namespace kirtle
