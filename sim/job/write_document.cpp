#include "job/write_document.h"

#include "base/check.h"

#include <algorithm>
#include <fmt/format.h>

namespace kirtle {

namespace {

bool is_bare(const std::string& key) {
  return !key.empty() && std::all_of(key.begin(), key.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
  });
}
std::string key_text(const std::string& key) { return is_bare(key) ? key : toml_text(key); }

/// [[key]] or [key] rather than key = value?
bool has_tables(const Value& v) {
  return v.kind == ValueKind::table || (v.kind == ValueKind::list && !v.items.empty() &&
                                        std::all_of(v.items.begin(), v.items.end(), [](const Value& item) {
                                          return item.kind == ValueKind::table;
                                        }));
}

std::string inline_text(const Value& v) {
  switch (v.kind) {
    case ValueKind::text:
      return toml_text(v.text);
    case ValueKind::date:
      return v.text;
    case ValueKind::integer:
      return fmt::format("{:.0f}", v.number);
    case ValueKind::number: {
      std::string s = fmt::format("{}", v.number);
      if (s.find_first_of(".en") == std::string::npos) s += ".0";
      return s;
    }
    case ValueKind::boolean:
      return v.flag ? "true" : "false";
    case ValueKind::list: {
      std::string s = "[";
      for (std::size_t i = 0; i < v.items.size(); ++i) s += (i > 0 ? ", " : "") + inline_text(v.items[i]);
      return s + "]";
    }
    case ValueKind::table: {
      std::string s = "{ ";
      for (std::size_t i = 0; i < v.members.size(); ++i)
        s += (i > 0 ? ", " : "") + key_text(v.members[i].key) + " = " + inline_text(v.members[i].value);
      return s + " }";
    }
  }
  return {};
}

void add_table(const Value& table, const std::string& path, std::string& out) {
  for (const Member& m : table.members) {
    if (!has_tables(m.value)) out += key_text(m.key) + " = " + inline_text(m.value) + "\n";
  }
  for (const Member& m : table.members) {
    if (!has_tables(m.value)) continue;
    const std::string name = path.empty() ? key_text(m.key) : path + "." + key_text(m.key);
    if (m.value.kind == ValueKind::table) {
      out += "\n[" + name + "]\n";
      add_table(m.value, name, out);
      continue;
    }
    for (const Value& item : m.value.items) {
      out += "\n[[" + name + "]]\n";
      add_table(item, name, out);
    }
  }
}

}  // namespace

std::string toml_text(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    const auto u = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (u < 0x20 || u == 0x7f) {
      out += fmt::format("\\u{:04X}", u);
    } else {
      out += c;
    }
  }
  return out + '"';
}

std::string path_from(const std::filesystem::path& file, const std::filesystem::path& folder) {
  std::error_code code;
  const std::filesystem::path absolute = std::filesystem::absolute(file, code);
  return (code ? file : absolute)
      .lexically_normal()
      .lexically_proximate(std::filesystem::absolute(folder).lexically_normal())
      .generic_string();
}

std::string document_text(const Value& root) {
  KIRTLE_CHECK(static_cast<int>(root.kind), ==, static_cast<int>(ValueKind::table));
  std::string out;
  add_table(root, "", out);
  return out;
}

}  // namespace kirtle
