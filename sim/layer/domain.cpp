#include "layer/domain.h"

#include <cmath>
#include <sstream>
#include <stdexcept>
#include <string>

namespace kirtle {

namespace {

std::string range_text(double low, double high) {
  std::ostringstream out;
  out << "in " << low << ".." << high;
  return out.str();
}

}  // namespace

void out_of_domain(std::string_view name, double value, std::string_view range) {
  std::ostringstream out;
  out << name << " is " << value << "; it must be " << range;
  throw std::domain_error(out.str());
}

void require_range(std::string_view name, double value, double low, double high) {
  if (!(value >= low && value <= high)) out_of_domain(name, value, range_text(low, high));
}

void require_not_negative(std::string_view name, double value) {
  if (!(value >= 0 && std::isfinite(value))) out_of_domain(name, value, ">= 0 and finite");
}

void require_positive(std::string_view name, double value) {
  if (!(value > 0 && std::isfinite(value))) out_of_domain(name, value, "> 0 and finite");
}

}  // namespace kirtle
