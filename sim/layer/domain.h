#pragma once
// Checks of arguments at the doors of the model. The message names argument, value and range; whoever read
// the value from a file adds file and line.
#include <string_view>

namespace kirtle {

/// Throws std::domain_error "name is VALUE; it must be RANGE".
[[noreturn]] void out_of_domain(std::string_view name, double value, std::string_view range);

/// Throws std::domain_error unless low <= value <= high. NaN fails.
void require_range(std::string_view name, double value, double low, double high);

/// Throws std::domain_error unless 0 <= value and value is finite. NaN fails.
void require_not_negative(std::string_view name, double value);

/// Throws std::domain_error unless 0 < value and value is finite. NaN fails.
void require_positive(std::string_view name, double value);

}  // namespace kirtle
