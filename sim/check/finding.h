#pragma once
// One thing that an operator would stop at, for lists and for people.
#include "plate/holdings.h"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace kirtle {

/// sent_back: the job cannot be printed well as it is. caution: look before a screen is coated. advice: worth
/// a thought, never an error.
enum class FindingSeverity { sent_back, caution, advice };

/// "sent back", "caution", "advice": words that do not change.
std::string_view to_string(FindingSeverity severity);

constexpr const char* kCommonPractice = "common practice, no source";
constexpr const char* kPlaceholder = "placeholder, no source";

struct Finding {
  std::string kind;  ///< of the table of findings: "thin-lines"; words that do not change
  FindingSeverity severity = FindingSeverity::caution;
  std::vector<std::string> plates;  ///< that it is about, by name; empty = the job
  std::vector<int> passes;          ///< from 1
  std::optional<PlateSpot> at;      ///< mm from the plates' top left corner; the worst place
  std::string what;                 ///< in shop words, with the number and the limit
  double number = 0, limit = 0;     ///< found and allowed, in `unit`
  std::string unit;                 ///< "mm", "cm3/m2", "%" and the like; empty = a count
  std::string remedy;
  std::string provenance;  ///< of the limit and the rule
  double weight = 0;       ///< ranks findings of one kind; greater is worse
};

}  // namespace kirtle
