#pragma once
// Numbers with units in text: "0.3 mm", "1/64 in", "156/in", "320 F", "1.5 min".
#include <optional>
#include <string>
#include <string_view>

namespace kirtle {

/// What a quantity measures; each has its units and one unit that everything is turned into.
enum class Measure {
  length_mm,      ///< um, mm, cm, in, pt -> mm
  length_um,      ///< the same -> um
  mesh_per_cm,    ///< /cm, /in -> threads per cm
  temperature_c,  ///< C, F -> degrees Celsius
  time_s,         ///< s, min, h -> seconds
};

/// "um, mm, cm, in or pt", for messages.
std::string units_of(Measure measure);
/// One example of how to write it: "0.3 mm".
std::string example_of(Measure measure);

/// A number (decimal, or a fraction such as 1/64) followed by a unit, with or without a space, in the
/// measure's own unit. Nothing if the text is not a finite number followed by one of units_of(measure).
std::optional<double> quantity_from(std::string_view text, Measure measure);

/// Digits, perhaps with a sign and a decimal point, and nothing else: a number whose unit was left out.
bool is_bare_number(std::string_view text);

}  // namespace kirtle
