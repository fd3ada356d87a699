#pragma once
// Reads one table of a document, key by key: checks type and range, remembers which keys were asked for, and
// at finish() reports every key that nobody asked for. All faults go to one Diagnostics; reading goes on
// after a fault.
#include "job/document.h"
#include "job/quantity.h"
#include "light/spectrum.h"

#include <limits>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace kirtle {

struct Range {
  double low = -std::numeric_limits<double>::infinity();
  double high = std::numeric_limits<double>::infinity();
  bool above_low = false;      ///< low itself is not allowed
  bool holds(double x) const;  ///< false for NaN and infinities
};
inline constexpr Range kShare{0, 1};
std::string to_string(const Range& r);  ///< "0..1", "> 0", "> 0 and at most 500"

enum class Need { optional, required };

class TableReader {
 public:
  /// `path` stands before every key in messages: "" or "pass[2]". `assumed` (may be null) collects the keys
  /// that were left out, so that a default stands in.
  TableReader(const Document& document, const Value& table, std::string path, Diagnostics& faults,
              std::vector<std::string>* assumed = nullptr);

  /// The raw value, or null. Marks the key as known. A missing required key is an error.
  const Value* find(std::string_view key, Need need = Need::optional, std::string_view what = "a value");
  bool has(std::string_view key) const;

  std::optional<double> number(std::string_view key, Range range, Need need = Need::optional);
  double number_or(std::string_view key, Range range, double fallback);
  std::optional<int> whole(std::string_view key, int low, int high, Need need = Need::optional);
  bool flag_or(std::string_view key, bool fallback);
  std::optional<std::string> text(std::string_view key, Need need = Need::optional,
                                  std::size_t max_length = 4000);
  /// Lower-case letters, digits and "-", at most 64: what may become part of a file name.
  std::optional<std::string> id(std::string_view key, Need need = Need::optional);
  std::vector<std::string> texts(std::string_view key, std::size_t max_count);
  std::vector<double> numbers(std::string_view key, Range range, std::size_t min_count, std::size_t max_count,
                              Need need = Need::optional);
  /// A bare number in `bare_unit` (if that is not empty), or text with a unit.
  std::optional<double> quantity(std::string_view key, Measure measure, std::string_view bare_unit,
                                 Range range, Need need = Need::optional);
  std::optional<double> quantity(const Value& v, std::string_view name, Measure measure,
                                 std::string_view bare_unit, Range range);
  std::optional<TableReader> table(std::string_view key, Need need = Need::optional);
  std::vector<TableReader> tables(std::string_view key, std::size_t max_count);  ///< [[key]]; empty if absent

  /// One of a fixed set of words.
  template <class E>
  std::optional<E> choice(std::string_view key, const std::vector<std::pair<std::string, E>>& words,
                          Need need = Need::optional) {
    std::vector<std::string> names;
    for (const auto& [word, value] : words) names.push_back(word);
    const std::optional<std::size_t> i = choice_index(key, names, need);
    if (!i) return std::nullopt;
    return words[*i].second;
  }

  /// Values at rising wavelengths, brought to the one grid: linear between, held beyond the ends.
  std::optional<Spectrum> spectrum(std::string_view key, const std::vector<double>& wavelength_nm,
                                   Range range, Need need = Need::optional, std::string_view remedy = {});

  /// Every key that was not asked for is an error, with the nearest known name.
  void finish();

  void error(const Value& at, std::string message, std::string remedy = {});
  void error_here(std::string message, std::string remedy = {});  ///< at the table itself
  void assume(std::string_view key);
  std::string name(std::string_view key) const;  ///< path and key
  Place place(const Value& v) const { return document_->place(v); }
  Place place() const { return document_->place(*table_); }
  Diagnostics& faults() { return *faults_; }
  const Document& document() const { return *document_; }

 private:
  std::optional<std::size_t> choice_index(std::string_view key, const std::vector<std::string>& words,
                                          Need need);
  bool check_number(const Value& v, const std::string& shown_name, Range range, std::string_view remedy = {});

  const Document* document_;
  const Value* table_;
  std::string path_;
  Diagnostics* faults_;
  std::vector<std::string>* assumed_;
  std::vector<std::string> known_;
};

/// The wavelengths of a table with spectra: `wavelength_nm`, 2..1000 rising numbers within 300..830.
std::vector<double> read_wavelengths(TableReader& reader);

/// schema = 1, required in every file.
void read_schema(TableReader& reader);

}  // namespace kirtle
