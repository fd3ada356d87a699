#pragma once
// A TOML file as a plain tree of values that know their line and column. The TOML library stays inside
// document.cpp.
#include "base/diagnostics.h"

#include <cstddef>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace kirtle {

/// Limits, enforced before the file is parsed.
constexpr std::size_t kMaxDocumentBytes = 1 << 20;
constexpr int kMaxNesting = 16;  ///< of brackets, and of the parts of a dotted key

enum class ValueKind { text, integer, number, boolean, date, list, table };

struct Member;

struct Value {
  ValueKind kind = ValueKind::table;
  int line = 0, column = 0;     ///< from 1
  std::string text;             ///< of text; of a date as YYYY-MM-DD
  double number = 0;            ///< of integer and number
  bool flag = false;            ///< of boolean
  std::vector<Value> items;     ///< of a list
  std::vector<Member> members;  ///< of a table, in the order of the file
};

struct Member {
  std::string key;
  int line = 0, column = 0;  ///< of the key
  Value value;
};

struct Document {
  std::filesystem::path file;
  Value root;  ///< a table
  Place place(const Value& v) const { return {file.string(), v.line, v.column}; }
};

/// Reads and parses a file. On failure (missing, not an ordinary file, over the limits, not TOML, a key given
/// twice) adds an error to `faults` and returns nothing. A file that is missing is reported at `asked_at` if
/// that names a file.
std::optional<Document> read_document(const std::filesystem::path& file, Diagnostics& faults,
                                      const Place& asked_at = {});

/// The same from text in memory; `file` is only a name.
std::optional<Document> parse_document(std::string_view text, const std::filesystem::path& file,
                                       Diagnostics& faults);

/// "22.5" of "22,5", "0.25 mm" of "0,25 mm": a number written with a decimal comma, whatever stands after it.
/// Empty if the text does not begin with one.
std::string decimal_point_in(std::string_view text);

/// A value as it is shown in a message: "\"abc\"", "12.5", "nan", "true", "a list of 3", "a table".
std::string shown(const Value& v);
/// A number, at most six digits, without trailing zeros.
std::string shown(double x);

}  // namespace kirtle
