#pragma once
// From an order file to an Order: one customer, several prints, each a scene, and how many shirts of which
// size and colour. docs/formats.md lists every key.
#include "base/diagnostics.h"
#include "base/units.h"

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace kirtle {

enum class PrintLocation { front, back, left_chest, sleeve, nape };
std::string_view to_string(PrintLocation location);  ///< as the file spells it

/// Youth sizes first, from small to large.
enum class ShirtSize { yxs, ys, ym, yl, yxl, xs, s, m, l, xl, xl2, xl3, xl4, xl5 };
constexpr int kShirtSizes = 14;
std::string_view to_string(ShirtSize size);  ///< "YS", "2XL"
constexpr bool is_youth(ShirtSize size) { return size <= ShirtSize::yxl; }

struct OrderPrint {
  PrintLocation location = PrintLocation::front;
  std::filesystem::path scene;  ///< resolved against the order's folder
  std::optional<Mm> width;      ///< of the ink, side to side; none = as the plates are
  std::optional<Mm> drop;       ///< below the collar (sleeve: above the hem); none = the usual
  Place place;
};

struct SizeCount {
  ShirtSize size = ShirtSize::m;
  int shirts = 0;
};

/// Shirts of one colour.
struct OrderShirts {
  std::string shirt;              ///< id; empty = the scene's own
  std::string style;              ///< free text: cut, maker's number
  std::vector<SizeCount> counts;  ///< of sizes ordered, small to large
  Place place;
  Place shirt_place;  ///< of the id
  int shirts() const;
};

/// One set of screens for all sizes, or a smaller one for those that it is too large for.
enum class ScreenSets { one, two };

struct Order {
  std::filesystem::path file;
  std::string customer, number, title, note;  ///< free text, may be empty
  std::string date, due;                      ///< YYYY-MM-DD, or empty
  int version = 1;
  int replaces = 0;  ///< version that this one replaces; 0 = none
  std::vector<OrderPrint> prints;
  std::vector<OrderShirts> shirts;
  ScreenSets sets = ScreenSets::one;
  std::string youth_discharge_agreed;  ///< who agreed to discharge on youth sizes, and when; empty = nobody
  Mm colours_may_shift{0.5};           ///< tolerance that the customer signs: colour to colour
  Mm placement_may_shift{25};          ///< and of the whole print on the shirt
  std::vector<std::filesystem::path> data;
  bool is_scene = false;  ///< made up round a scene alone
  std::vector<Diagnostic> notes;

  int total() const;
  std::vector<SizeCount> by_size() const;  ///< all colours together, small to large; sizes of 0 left out
};

constexpr std::size_t kMaxPrints = 8, kMaxShirtColours = 20;

/// Reads an order, or takes a scene as the whole of one: a front print, no quantities. Scenes are checked to
/// be there; of what they hold only their `data` is looked at, because a shirt may be there. Throws
/// InputError with every fault.
///   data  further folders of records, as the command line has them
Order read_order(const std::filesystem::path& file, const std::vector<std::filesystem::path>& data = {});

}  // namespace kirtle
