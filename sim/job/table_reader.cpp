#include "job/table_reader.h"

#include "base/units.h"

#include <algorithm>
#include <cmath>

namespace kirtle {

bool Range::holds(double x) const {
  return std::isfinite(x) && (above_low ? x > low : x >= low) && x <= high;
}

std::string to_string(const Range& r) {
  if (std::isinf(r.low) && std::isinf(r.high)) return "any finite number";
  if (std::isinf(r.high)) return (r.above_low ? "> " : ">= ") + shown(r.low);
  if (std::isinf(r.low)) return "at most " + shown(r.high);
  if (r.above_low) return "> " + shown(r.low) + " and at most " + shown(r.high);
  return shown(r.low) + ".." + shown(r.high);
}

TableReader::TableReader(const Document& document, const Value& table, std::string path, Diagnostics& faults,
                         std::vector<std::string>* assumed)
    : document_(&document), table_(&table), path_(std::move(path)), faults_(&faults), assumed_(assumed) {}

std::string TableReader::name(std::string_view key) const {
  return path_.empty() ? std::string(key) : path_ + '.' + std::string(key);
}

void TableReader::error(const Value& at, std::string message, std::string remedy) {
  faults_->error(place(at), std::move(message), std::move(remedy));
}

void TableReader::error_here(std::string message, std::string remedy) {
  faults_->error(place(), std::move(message), std::move(remedy));
}

void TableReader::assume(std::string_view key) {
  if (assumed_ != nullptr) assumed_->push_back(name(key));
}

bool TableReader::has(std::string_view key) const {
  return std::any_of(table_->members.begin(), table_->members.end(),
                     [&](const Member& m) { return m.key == key; });
}

const Value* TableReader::find(std::string_view key, Need need, std::string_view what) {
  if (std::find(known_.begin(), known_.end(), key) == known_.end()) known_.emplace_back(key);
  for (const Member& m : table_->members) {
    if (m.key == key) return &m.value;
  }
  if (need == Need::required) {
    error_here("\"" + name(key) + "\" is missing; it must be " + std::string(what), "add the key");
  }
  return nullptr;
}

namespace {

/// An example that the range holds.
std::string allowed_example(Measure measure, Range range) {
  if (measure == Measure::length_mm && !range.holds(0.3) && range.holds(12 * kMmPerInch))
    return "\"300 mm\" or \"12 in\"";
  return example_of(measure);
}

/// For a number with a decimal comma, or without its unit; else empty.
std::string remedy_of_quantity(const std::string& text, Measure measure, Range range) {
  const std::string point = decimal_point_in(text), number = point.empty() ? text : point;
  if (!point.empty() && quantity_from(point, measure)) return "write \"" + point + "\", with a decimal point";
  if (!is_bare_number(number) || measure != Measure::length_mm) return {};
  std::string out;
  for (const char* unit : {" mm", " in"}) {
    const std::optional<double> x = quantity_from(number + unit, measure);
    if (x && range.holds(*x)) out += (out.empty() ? "write \"" : " or \"") + number + unit + '"';
  }
  return out;
}

}  // namespace

bool TableReader::check_number(const Value& v, const std::string& shown_name, Range range,
                               std::string_view remedy) {
  const bool is_number = v.kind == ValueKind::number || v.kind == ValueKind::integer;
  if (is_number && range.holds(v.number)) return true;
  std::string way(remedy);
  if (v.kind == ValueKind::text && way.empty()) {
    const std::string point = decimal_point_in(v.text), number = point.empty() ? v.text : point;
    if (is_bare_number(number))
      way = "write " + number + (point.empty() ? "" : ", with a decimal point and") + " without quotes";
  }
  error(v, shown_name + " is " + shown(v) + "; it must be a number, " + to_string(range), way);
  return false;
}

std::optional<double> TableReader::number(std::string_view key, Range range, Need need) {
  const Value* v = find(key, need, "a number, " + to_string(range));
  if (v == nullptr || !check_number(*v, name(key), range)) return std::nullopt;
  return v->number;
}

double TableReader::number_or(std::string_view key, Range range, double fallback) {
  if (!has(key)) assume(key);
  return number(key, range).value_or(fallback);
}

std::optional<int> TableReader::whole(std::string_view key, int low, int high, Need need) {
  const std::string allowed = "a whole number, " + std::to_string(low) + ".." + std::to_string(high);
  const Value* v = find(key, need, allowed);
  if (v == nullptr) return std::nullopt;
  if (v->kind != ValueKind::integer || !(v->number >= low && v->number <= high)) {
    error(*v, name(key) + " is " + shown(*v) + "; it must be " + allowed);
    return std::nullopt;
  }
  return static_cast<int>(v->number);
}

bool TableReader::flag_or(std::string_view key, bool fallback) {
  const Value* v = find(key);
  if (v == nullptr) return fallback;
  if (v->kind != ValueKind::boolean) {
    error(*v, name(key) + " is " + shown(*v) + "; it must be true or false");
    return fallback;
  }
  return v->flag;
}

std::optional<std::string> TableReader::text(std::string_view key, Need need, std::size_t max_length) {
  const Value* v = find(key, need, "text in quotes");
  if (v == nullptr) return std::nullopt;
  if (v->kind != ValueKind::text) {
    error(*v, name(key) + " is " + shown(*v) + "; it must be text in quotes",
          v->kind == ValueKind::integer ? "write \"" + shown(*v) + '"' : std::string());
    return std::nullopt;
  }
  if (v->text.size() > max_length) {
    error(*v, name(key) + " has " + std::to_string(v->text.size()) + " characters; at most " +
                  std::to_string(max_length) + " are allowed");
    return std::nullopt;
  }
  return v->text;
}

namespace {
bool is_id(const std::string& text) {
  return !text.empty() && text.size() <= 64 && text.front() != '-' &&
         std::all_of(text.begin(), text.end(),
                     [](char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-'; });
}
constexpr const char* kIdRule = "an id: small letters, digits and \"-\", at most 64, not starting with \"-\"";
}  // namespace

std::optional<std::string> TableReader::id(std::string_view key, Need need) {
  const Value* v = find(key, need, kIdRule);
  if (v == nullptr) return std::nullopt;
  if (v->kind != ValueKind::text || !is_id(v->text)) {
    error(*v, name(key) + " is " + shown(*v) + "; it must be " + kIdRule);
    return std::nullopt;
  }
  return v->text;
}

std::vector<std::string> TableReader::texts(std::string_view key, std::size_t max_count) {
  const Value* v = find(key);
  std::vector<std::string> out;
  if (v == nullptr) return out;
  const std::string allowed = "a list of at most " + std::to_string(max_count) + " texts in quotes";
  if (v->kind != ValueKind::list || v->items.size() > max_count) {
    error(*v, name(key) + " is " + shown(*v) + "; it must be " + allowed);
    return out;
  }
  for (std::size_t i = 0; i < v->items.size(); ++i) {
    const Value& item = v->items[i];
    const std::string item_name = name(key) + '[' + std::to_string(i) + ']';
    if (item.kind != ValueKind::text) {
      error(item, item_name + " is " + shown(item) + "; it must be text in quotes");
    } else if (std::find(out.begin(), out.end(), item.text) != out.end()) {
      error(item, item_name + " is " + shown(item) + ", which stands in the list already", "name it once");
    } else {
      out.push_back(item.text);
    }
  }
  return out;
}

std::vector<double> TableReader::numbers(std::string_view key, Range range, std::size_t min_count,
                                         std::size_t max_count, Need need) {
  const std::string count = min_count == max_count
                                ? std::to_string(min_count)
                                : std::to_string(min_count) + " to " + std::to_string(max_count);
  const std::string allowed = "a list of " + count + " numbers, " + to_string(range);
  const Value* v = find(key, need, allowed);
  if (v == nullptr) return {};
  if (v->kind != ValueKind::list || v->items.size() < min_count || v->items.size() > max_count) {
    error(*v, name(key) + " is " + shown(*v) + "; it must be " + allowed);
    return {};
  }
  std::vector<double> out;
  for (std::size_t i = 0; i < v->items.size(); ++i) {
    if (check_number(v->items[i], name(key) + '[' + std::to_string(i) + ']', range))
      out.push_back(v->items[i].number);
  }
  if (out.size() != v->items.size()) out.clear();
  return out;
}

std::optional<double> TableReader::quantity(const Value& v, std::string_view shown_name, Measure measure,
                                            std::string_view bare_unit, Range range) {
  const std::string unit = units_of(measure);
  std::optional<double> x;
  if (v.kind == ValueKind::text) {
    x = quantity_from(v.text, measure);
  } else if ((v.kind == ValueKind::number || v.kind == ValueKind::integer) && !bare_unit.empty()) {
    x = v.number;
  }
  if (!x) {
    std::string allowed = "text with a unit (" + unit + "), such as " + allowed_example(measure, range);
    if (!bare_unit.empty()) allowed = "a number in " + std::string(bare_unit) + ", or " + allowed;
    error(v, std::string(shown_name) + " is " + shown(v) + "; it must be " + allowed,
          v.kind == ValueKind::text ? remedy_of_quantity(v.text, measure, range) : std::string());
    return std::nullopt;
  }
  if (range.holds(*x)) return x;
  static constexpr std::string_view kOwnUnit[] = {" mm", " um", "/cm", " C", " s"};
  const std::string own(kOwnUnit[static_cast<int>(measure)]);
  std::string found = shown(v);
  if (v.kind == ValueKind::text) found += " (" + shown(*x) + own + ')';
  error(v, std::string(shown_name) + " is " + found + "; it must be " + to_string(range) + own);
  return std::nullopt;
}

std::optional<double> TableReader::quantity(std::string_view key, Measure measure, std::string_view bare_unit,
                                            Range range, Need need) {
  const Value* v = find(key, need, "a quantity such as " + example_of(measure));
  if (v == nullptr) return std::nullopt;
  return quantity(*v, name(key), measure, bare_unit, range);
}

std::optional<TableReader> TableReader::table(std::string_view key, Need need) {
  const Value* v = find(key, need, "a table, [" + name(key) + ']');
  if (v == nullptr) return std::nullopt;
  if (v->kind != ValueKind::table) {
    error(*v, name(key) + " is " + shown(*v) + "; it must be a table, [" + name(key) + ']');
    return std::nullopt;
  }
  return TableReader(*document_, *v, name(key), *faults_, assumed_);
}

std::vector<TableReader> TableReader::tables(std::string_view key, std::size_t max_count) {
  const Value* v = find(key);
  std::vector<TableReader> out;
  if (v == nullptr) return out;
  const bool all_tables =
      v->kind == ValueKind::list && std::all_of(v->items.begin(), v->items.end(),
                                                [](const Value& i) { return i.kind == ValueKind::table; });
  if (!all_tables) {
    error(*v,
          name(key) + " is " + shown(*v) + "; it must be a list of tables, each under [[" + name(key) + "]]");
    return out;
  }
  if (v->items.size() > max_count) {
    error(*v, "there are " + std::to_string(v->items.size()) + " of [[" + name(key) + "]]; at most " +
                  std::to_string(max_count) + " are allowed");
    return out;
  }
  for (std::size_t i = 0; i < v->items.size(); ++i) {
    out.emplace_back(*document_, v->items[i], name(key) + '[' + std::to_string(i + 1) + ']', *faults_,
                     assumed_);
  }
  return out;
}

std::optional<std::size_t> TableReader::choice_index(std::string_view key,
                                                     const std::vector<std::string>& words, Need need) {
  std::string allowed = "one of ";
  for (std::size_t i = 0; i < words.size(); ++i) allowed += (i > 0 ? ", \"" : "\"") + words[i] + '"';
  const Value* v = find(key, need, allowed);
  if (v == nullptr) return std::nullopt;
  const auto found = std::find(words.begin(), words.end(), v->text);
  if (v->kind == ValueKind::text && found != words.end())
    return static_cast<std::size_t>(found - words.begin());
  const std::string near = v->kind == ValueKind::text ? nearest_name(v->text, words) : "";
  error(*v, name(key) + " is " + shown(*v) + "; it must be " + allowed,
        near.empty() ? "" : "did you mean \"" + near + "\"?");
  return std::nullopt;
}

std::optional<Spectrum> TableReader::spectrum(std::string_view key, const std::vector<double>& wavelength_nm,
                                              Range range, Need need, std::string_view remedy) {
  const std::string allowed = "a list of " + std::to_string(wavelength_nm.size()) +
                              " numbers, one for each of wavelength_nm, " + to_string(range);
  const Value* v = find(key, need, allowed);
  if (v == nullptr || wavelength_nm.empty()) return std::nullopt;
  if (v->kind != ValueKind::list || v->items.size() != wavelength_nm.size()) {
    error(*v, name(key) + " is " + shown(*v) + "; it must be " + allowed);
    return std::nullopt;
  }
  bool good = true;
  for (std::size_t i = 0; i < v->items.size(); ++i) {
    good &= check_number(v->items[i],
                         name(key) + '[' + std::to_string(i) + "] (" + shown(wavelength_nm[i]) + " nm)",
                         range, remedy);
  }
  if (!good) return std::nullopt;
  return spectrum_of([&](std::size_t band) {
    const double nm = band_nm(band);
    const auto above = std::upper_bound(wavelength_nm.begin(), wavelength_nm.end(), nm);
    const auto i = static_cast<std::size_t>(above - wavelength_nm.begin());
    if (i == 0) return v->items.front().number;
    if (i == wavelength_nm.size()) return v->items.back().number;
    const double part = (nm - wavelength_nm[i - 1]) / (wavelength_nm[i] - wavelength_nm[i - 1]);
    return v->items[i - 1].number + part * (v->items[i].number - v->items[i - 1].number);
  });
}

void TableReader::finish() {
  for (const Member& m : table_->members) {
    if (std::find(known_.begin(), known_.end(), m.key) != known_.end()) continue;
    const std::string near = nearest_name(m.key, known_);
    std::string remedy;
    if (!near.empty()) {
      remedy = "did you mean \"" + near + "\"?";
    } else {
      remedy = "allowed here: ";
      for (std::size_t i = 0; i < known_.size(); ++i) remedy += (i > 0 ? ", " : "") + known_[i];
    }
    faults_->error({document_->file.string(), m.line, m.column},
                   "unknown key \"" + printable(name(m.key)) + '"', remedy);
  }
}

std::vector<double> read_wavelengths(TableReader& reader) {
  std::vector<double> nm = reader.numbers("wavelength_nm", {300, 830}, 2, 1000, Need::required);
  for (std::size_t i = 1; i < nm.size(); ++i) {
    if (nm[i] > nm[i - 1]) continue;
    const Value& at = reader.find("wavelength_nm")->items[i];
    reader.error(at, reader.name("wavelength_nm") + '[' + std::to_string(i) + "] is " + shown(nm[i]) +
                         " after " + shown(nm[i - 1]) + "; wavelengths must rise");
    return {};
  }
  return nm;
}

void read_schema(TableReader& reader) { reader.whole("schema", 1, 1, Need::required); }

}  // namespace kirtle
