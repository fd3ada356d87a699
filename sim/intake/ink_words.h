#pragma once
// What a plate is, from what it is called.
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace kirtle {

/// The place of a plate in the print.
enum class PlateKind { base, top, highlight, shirt, ignore };

struct NameGuess {
  PlateKind kind = PlateKind::top;
  std::string ink;           ///< id of an ink of the list, or empty: nothing in the name says which
  bool sure_of_ink = false;  ///< the name is that ink's own, not a synonym or one of several
  bool white = false;        ///< called white and nothing more: a base, or a highlight
};

/// An ink as names are matched with it.
struct KnownInk {
  std::string id, name;
};

/// Small letters; everything that is no letter or digit parts words, and so do changes from letters to
/// digits.
std::vector<std::string> words_of(std::string_view name);

/// False where bytes are no UTF-8 (RFC 3629), which scenes are written in.
bool is_utf8(std::string_view text);

/// Guesses from trade words (common practice, no source) and from the names of the inks.
NameGuess guess_from_name(std::string_view name, const std::vector<KnownInk>& inks);

}  // namespace kirtle
