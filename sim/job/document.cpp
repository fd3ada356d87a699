#include "job/document.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <toml++/toml.h>

namespace kirtle {
namespace fs = std::filesystem;

namespace {

constexpr const char* kTextHelp = "quotes, brackets and commas may be missing; a key may be given once only";

/// Walks the text outside strings and comments and refuses what is nested too deep, so that no recursion
/// (parsing, copying, freeing the tree) can run out of stack. Lines and columns from 1; columns count bytes.
std::optional<Diagnostic> too_deep(std::string_view text, const std::string& file) {
  int depth = 0, dots = 0, line = 1, column = 0;
  std::string_view quote;  // the open string's delimiter; empty outside strings
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    ++column;
    if (c == '\n') {
      ++line;
      column = 0;
      dots = 0;
      if (quote.size() == 1) quote = {};  // an unclosed one-line string: the parser will report it
    }
    if (!quote.empty()) {
      if (c == '\\' && quote[0] == '"') {
        ++i;
        ++column;
        if (i < text.size() && text[i] == '\n') {
          ++line;
          column = 0;
        }
      } else if (text.substr(i, quote.size()) == quote) {
        i += quote.size() - 1;
        column += static_cast<int>(quote.size()) - 1;
        quote = {};
      }
      continue;
    }
    if (c == '"' || c == '\'') {
      const std::string_view three = text.substr(i, 3);
      quote = text.substr(i, three == "\"\"\"" || three == "'''" ? 3 : 1);
      i += quote.size() - 1;
      column += static_cast<int>(quote.size()) - 1;
    } else if (c == '#') {
      while (i + 1 < text.size() && text[i + 1] != '\n') ++i;
    } else if (c == '[' || c == '{') {
      ++depth;
      dots = 0;
    } else if (c == ']' || c == '}') {
      depth = std::max(0, depth - 1);
    } else if (c == ',' || c == '=') {
      dots = 0;
    } else if (c == '.') {
      ++dots;
    }
    if (depth > kMaxNesting || dots >= kMaxNesting) {
      return Diagnostic{Severity::error,
                        {file, line, column},
                        "nested deeper than " + std::to_string(kMaxNesting) + " levels",
                        "no file of Kirtle needs more than 4; look for a bracket that is not closed"};
    }
  }
  return std::nullopt;
}

/// What a file is by its first bytes, of those that are named in place of a scene by mistake; empty = none.
std::string_view picture_by_start(std::string_view text) {
  constexpr std::pair<std::string_view, std::string_view> kStarts[] = {
      {"\x89PNG", "a PNG picture"},  {"\xFF\xD8\xFF", "a JPEG picture"},
      {"II*", "a TIFF picture"},     {"MM\0*", "a TIFF picture"},
      {"II+", "a TIFF picture"},     {"GIF8", "a GIF picture"},
      {"8BPS", "a layered picture"}, {"%PDF", "a PDF"}};
  for (const auto& [start, word] : kStarts)
    if (text.starts_with(start)) return word;
  return {};
}

/// "22.5" where the line holds `key = 22,5`; empty if it does not.
std::string with_decimal_point(std::string_view text, int line) {
  for (; line > 1 && !text.empty(); --line) text.remove_prefix(std::min(text.size(), text.find('\n') + 1));
  text = text.substr(0, text.find('\n'));
  const std::size_t equals = text.find('=');
  if (equals == std::string_view::npos) return {};
  text.remove_prefix(equals + 1);
  text = text.substr(0, text.find('#'));
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t' || text.back() == '\r'))
    text.remove_suffix(1);
  return decimal_point_in(text);
}

Value value_of(const toml::node& node);

Value located(ValueKind kind, const toml::source_region& where) {
  Value v;
  v.kind = kind;
  v.line = static_cast<int>(where.begin.line);
  v.column = static_cast<int>(where.begin.column);
  return v;
}

Value table_of(const toml::table& table) {
  Value v = located(ValueKind::table, table.source());
  for (const auto& [key, node] : table) {
    const toml::source_position at = key.source().begin;
    v.members.push_back(
        {std::string(key.str()), static_cast<int>(at.line), static_cast<int>(at.column), value_of(node)});
  }
  std::stable_sort(v.members.begin(), v.members.end(), [](const Member& a, const Member& b) {
    return a.line != b.line ? a.line < b.line : a.column < b.column;
  });
  return v;
}

Value value_of(const toml::node& node) {
  const toml::source_region& where = node.source();
  if (const toml::table* table = node.as_table()) return table_of(*table);
  if (const toml::array* list = node.as_array()) {
    Value v = located(ValueKind::list, where);
    v.items.reserve(list->size());
    for (const toml::node& item : *list) v.items.push_back(value_of(item));
    return v;
  }
  if (const auto* text = node.as_string()) {
    Value v = located(ValueKind::text, where);
    v.text = text->get();
    return v;
  }
  if (const auto* integer = node.as_integer()) {
    Value v = located(ValueKind::integer, where);
    v.number = static_cast<double>(integer->get());
    return v;
  }
  if (const auto* number = node.as_floating_point()) {
    Value v = located(ValueKind::number, where);
    v.number = number->get();
    return v;
  }
  if (const auto* flag = node.as_boolean()) {
    Value v = located(ValueKind::boolean, where);
    v.flag = flag->get();
    return v;
  }
  Value v = located(ValueKind::date, where);
  std::optional<toml::date> day = node.value<toml::date>();
  if (const auto moment = node.value<toml::date_time>(); !day && moment) day = moment->date;
  if (day) {
    char buffer[24];
    std::snprintf(buffer, sizeof buffer, "%04d-%02d-%02d", static_cast<int>(day->year),
                  static_cast<int>(day->month), static_cast<int>(day->day));
    v.text = buffer;
  }
  return v;
}

}  // namespace

std::optional<Document> parse_document(std::string_view text, const fs::path& file, Diagnostics& faults) {
  if (auto deep = too_deep(text, file.string())) {
    faults.error(deep->place, deep->message, deep->remedy);
    return std::nullopt;
  }
  try {
    const toml::table table = toml::parse(text, file.string());
    return Document{file, table_of(table)};
  } catch (const toml::parse_error& e) {
    const toml::source_position at = e.source().begin;
    std::string number = with_decimal_point(text, static_cast<int>(at.line));
    if (!number.empty()) number = "write " + number + ", with a decimal point";
    faults.error({file.string(), static_cast<int>(at.line), static_cast<int>(at.column)},
                 "this is not TOML: " + printable(e.description()), number.empty() ? kTextHelp : number);
    return std::nullopt;
  }
}

std::optional<Document> read_document(const fs::path& file, Diagnostics& faults, const Place& asked_at) {
  std::error_code code;
  const fs::file_status status = fs::status(file, code);
  if (!fs::exists(status)) {
    if (asked_at.file.empty()) {
      faults.error({file.string(), 0, 0}, "there is no such file", "check the path");
    } else {
      faults.error(asked_at, "there is no file " + printable(file.string()), "check the path");
    }
    return std::nullopt;
  }
  if (!fs::is_regular_file(status)) {
    faults.error({file.string(), 0, 0}, "this is not an ordinary file", "name a text file (TOML)");
    return std::nullopt;
  }
  std::string start(8, '\0');
  {
    std::ifstream look(file, std::ios::binary);
    look.read(start.data(), static_cast<std::streamsize>(start.size()));
    start.resize(static_cast<std::size_t>(look.gcount()));
  }
  if (const std::string_view word = picture_by_start(start); !word.empty()) {
    faults.error({file.string(), 0, 0},
                 "this is " + std::string(word) + ", not a text file such as a scene or an order",
                 "name the scene (TOML) that names its plates; kirtle scene new drafts one from them");
    return std::nullopt;
  }
  const std::uintmax_t size = fs::file_size(file, code);
  if (!code && size > kMaxDocumentBytes) {
    faults.error({file.string(), 0, 0},
                 "the file has " + std::to_string(size) + " bytes; at most " +
                     std::to_string(kMaxDocumentBytes) + " are allowed",
                 "name a text file (TOML); plates and pictures are named inside it");
    return std::nullopt;
  }
  std::ifstream in(file, std::ios::binary);
  std::string text(code ? 0 : size, '\0');
  in.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (code || !in) {
    faults.error({file.string(), 0, 0}, "the file cannot be read", "check that you may read it");
    return std::nullopt;
  }
  return parse_document(text, file, faults);
}

std::string decimal_point_in(std::string_view text) {
  const std::size_t comma = text.find(',');
  if (comma == std::string_view::npos || comma == 0) return {};
  const auto digits = [](std::string_view t) {
    return !t.empty() && t.find_first_not_of("0123456789") == std::string_view::npos;
  };
  std::string_view whole = text.substr(0, comma);
  if (whole.front() == '-' || whole.front() == '+') whole.remove_prefix(1);
  const std::string_view rest = text.substr(comma + 1);
  const std::size_t end = std::min(rest.find_first_not_of("0123456789"), rest.size());
  // More commas: a list, or a thousand's mark; neither can be mended by a guess.
  if (!digits(whole) || !digits(rest.substr(0, end)) || rest.find(',') != std::string_view::npos) return {};
  return std::string(text.substr(0, comma)) + '.' + std::string(rest);
}

std::string shown(double x) {
  if (std::isnan(x)) return "nan";
  if (std::isinf(x)) return x > 0 ? "inf" : "-inf";
  char buffer[40];
  std::snprintf(buffer, sizeof buffer, "%.6g", x);
  return buffer;
}

std::string shown(const Value& v) {
  switch (v.kind) {
    case ValueKind::text:
      return '"' + printable(v.text, 60) + '"';
    case ValueKind::integer:
    case ValueKind::number:
      return shown(v.number);
    case ValueKind::boolean:
      return v.flag ? "true" : "false";
    case ValueKind::date:
      return v.text.empty() ? "a time" : "the date " + v.text;
    case ValueKind::list:
      return "a list of " + std::to_string(v.items.size());
    case ValueKind::table:
      return "a table";
  }
  return "?";
}

}  // namespace kirtle
