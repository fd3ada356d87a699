#include "intake/ink_words.h"

#include "base/diagnostics.h"

#include <algorithm>
#include <array>
#include <cctype>

namespace kirtle {

namespace {

struct KindWord {
  std::string_view word;
  PlateKind kind;
};
constexpr std::array kKindWords{
    KindWord{"base", PlateKind::base},           KindWord{"underbase", PlateKind::base},
    KindWord{"baseplate", PlateKind::base},      KindWord{"ub", PlateKind::base},
    KindWord{"under", PlateKind::base},          KindWord{"underlay", PlateKind::base},
    KindWord{"highlight", PlateKind::highlight}, KindWord{"highlights", PlateKind::highlight},
    KindWord{"hilite", PlateKind::highlight},    KindWord{"hl", PlateKind::highlight},
    KindWord{"shirt", PlateKind::shirt},         KindWord{"garment", PlateKind::shirt},
    KindWord{"cloth", PlateKind::shirt},         KindWord{"tee", PlateKind::shirt},
    KindWord{"fabric", PlateKind::shirt},        KindWord{"substrate", PlateKind::shirt},
    KindWord{"background", PlateKind::shirt},    KindWord{"mask", PlateKind::ignore},
    KindWord{"alpha", PlateKind::ignore},        KindWord{"marks", PlateKind::ignore},
    KindWord{"registration", PlateKind::ignore}, KindWord{"reg", PlateKind::ignore},
    KindWord{"label", PlateKind::ignore},        KindWord{"labels", PlateKind::ignore},
    KindWord{"notes", PlateKind::ignore},        KindWord{"guide", PlateKind::ignore},
    KindWord{"guides", PlateKind::ignore},       KindWord{"template", PlateKind::ignore},
    KindWord{"proof", PlateKind::ignore},        KindWord{"preview", PlateKind::ignore},
    KindWord{"composite", PlateKind::ignore},
};

/// Words for colours that inks are not called by, or that several are.
struct ColourWord {
  std::string_view word, ink;
};
constexpr std::array kColourWords{
    ColourWord{"key", "black"},           ColourWord{"k", "black"},
    ColourWord{"blk", "black"},           ColourWord{"dark", "black"},
    ColourWord{"outline", "black"},       ColourWord{"lineart", "black"},
    ColourWord{"shading", "black"},       ColourWord{"shadow", "black"},
    ColourWord{"cyan", "turquoise"},      ColourWord{"c", "turquoise"},
    ColourWord{"aqua", "turquoise"},      ColourWord{"m", "magenta"},
    ColourWord{"fuchsia", "magenta"},     ColourWord{"y", "lemon-yellow"},
    ColourWord{"yellow", "lemon-yellow"}, ColourWord{"lemon", "lemon-yellow"},
    ColourWord{"gold", "golden-yellow"},  ColourWord{"golden", "golden-yellow"},
    ColourWord{"blue", "royal-blue"},     ColourWord{"royal", "royal-blue"},
    ColourWord{"sky", "light-blue"},      ColourWord{"green", "kelly-green"},
    ColourWord{"kelly", "kelly-green"},   ColourWord{"forest", "dark-green"},
    ColourWord{"grey", "cool-grey"},      ColourWord{"gray", "cool-grey"},
    ColourWord{"violet", "purple"},       ColourWord{"burgundy", "maroon"},
    ColourWord{"wine", "maroon"},         ColourWord{"skin", "tan"},
    ColourWord{"flesh", "tan"},           ColourWord{"silver", "silver-metallic"},
    ColourWord{"rose", "pink"},           ColourWord{"ivory", "cream"},
};

bool holds(const std::vector<std::string>& words, std::string_view word) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

bool knows(const std::vector<KnownInk>& inks, const std::string& id) {
  return std::any_of(inks.begin(), inks.end(), [&](const KnownInk& ink) { return ink.id == id; });
}

/// The ink all of whose words are in the name; of several the one with the most words.
std::string by_own_name(const std::vector<std::string>& words, const std::vector<KnownInk>& inks) {
  std::string best;
  std::size_t most = 0;
  for (const KnownInk& ink : inks) {
    for (const std::vector<std::string>& own : {words_of(ink.id), words_of(ink.name)}) {
      const bool all =
          std::all_of(own.begin(), own.end(), [&](const std::string& w) { return holds(words, w); });
      if (all && own.size() > most) {
        most = own.size();
        best = ink.id;
      }
    }
  }
  return best;
}

/// "light bleu": the nearest ink by spelling, of a word long enough to tell.
std::string by_spelling(const std::vector<std::string>& words, const std::vector<KnownInk>& inks) {
  std::string joined;
  for (const std::string& w : words) joined += (joined.empty() ? "" : "-") + w;
  if (joined.size() < 4) return {};
  std::vector<std::string> ids;
  for (const KnownInk& ink : inks) ids.push_back(ink.id);
  return nearest_name(joined, ids);
}

}  // namespace

std::vector<std::string> words_of(std::string_view name) {
  std::vector<std::string> words;
  int last = 0;  // 1 letter, 2 digit
  for (const char c : name) {
    const auto u = static_cast<unsigned char>(c);
    const int now = std::isdigit(u) ? 2 : std::isalpha(u) || u >= 0x80 ? 1 : 0;
    if (now == 0) {
      last = 0;
      continue;
    }
    if (now != last) words.emplace_back();
    words.back() += u < 0x80 ? static_cast<char>(std::tolower(u)) : c;
    last = now;
  }
  return words;
}

bool is_utf8(std::string_view text) {
  for (std::size_t i = 0; i < text.size();) {
    const auto byte = [&](std::size_t k) { return static_cast<unsigned char>(text[k]); };
    const unsigned lead = byte(i);
    const std::size_t more = lead < 0x80                   ? 0
                             : lead >= 0xC2 && lead < 0xE0 ? 1
                             : lead >= 0xE0 && lead < 0xF0 ? 2
                                                           : 3;
    if (lead >= 0x80 && (lead < 0xC2 || lead > 0xF4)) return false;
    if (i + more >= text.size()) return false;
    for (std::size_t k = 1; k <= more; ++k)
      if ((byte(i + k) & 0xC0) != 0x80) return false;
    // Overlong forms, surrogates, beyond U+10FFFF.
    if (more > 0) {
      const unsigned next = byte(i + 1);
      if ((lead == 0xE0 && next < 0xA0) || (lead == 0xED && next > 0x9F) || (lead == 0xF0 && next < 0x90) ||
          (lead == 0xF4 && next > 0x8F))
        return false;
    }
    i += more + 1;
  }
  return true;
}

NameGuess guess_from_name(std::string_view name, const std::vector<KnownInk>& inks) {
  const std::vector<std::string> words = words_of(name);
  NameGuess guess;
  for (const KindWord& k : kKindWords) {
    if (!holds(words, k.word)) continue;
    guess.kind = k.kind;
    break;
  }
  const bool discharge = holds(words, "discharge") || holds(words, "dc");
  const bool water = holds(words, "wb") || holds(words, "waterbase") ||
                     (holds(words, "water") && (holds(words, "base") || holds(words, "based")));
  if (water && guess.kind == PlateKind::base && !holds(words, "underbase")) guess.kind = PlateKind::top;
  const auto take = [&](const std::string& id, bool sure) {
    if (!guess.ink.empty() || id.empty() || !knows(inks, id)) return;
    guess.ink = id;
    guess.sure_of_ink = sure;
  };
  if (guess.kind == PlateKind::shirt || guess.kind == PlateKind::ignore) return guess;
  if (discharge || water) {
    const std::string family = discharge ? "discharge-" : "wb-";
    for (const std::string& w : words) take(family + w, w != "base");
    take(discharge ? "discharge-clear" : "wb-black", false);
    return guess;
  }
  if (guess.kind == PlateKind::highlight) take("highlight-white", true);
  if (guess.kind == PlateKind::base) take("base-white", true);
  guess.white = guess.kind == PlateKind::top && holds(words, "white") && by_own_name(words, inks).empty();
  if (guess.white) take("highlight-white", false);
  take(by_own_name(words, inks), true);
  for (const ColourWord& c : kColourWords) {
    if (holds(words, c.word)) take(std::string(c.ink), false);
  }
  take(by_spelling(words, inks), false);
  return guess;
}

}  // namespace kirtle
