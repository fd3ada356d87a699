#include "scene_text.h"

#include "base/diagnostics.h"

#include <algorithm>
#include <fmt/format.h>

namespace kirtle {

std::string toml_number(double v) {
  std::string s = fmt::format("{}", v);  // shortest that reads back the same
  return s;
}

std::size_t SceneText::offset_of(int line, int column) const {
  std::size_t at = 0;
  for (int l = 1; l < line && at < text_.size(); ++l) at = line_end(at) + 1;
  // Columns count code points.
  for (int c = 1; c < column && at < text_.size(); ++at) {
    if (at + 1 >= text_.size() || (static_cast<unsigned char>(text_[at + 1]) & 0xC0u) != 0x80u) ++c;
  }
  return std::min(at, text_.size());
}

std::size_t SceneText::line_end(std::size_t at) const { return std::min(text_.find('\n', at), text_.size()); }

std::size_t SceneText::value_end(std::size_t from) const {
  int depth = 0;
  std::size_t i = from;
  while (i < text_.size()) {
    const char c = text_[i];
    if (c == '"' || c == '\'') {
      const std::string quote =
          text_.compare(i, 3, std::string(3, c)) == 0 ? std::string(3, c) : std::string(1, c);
      i += quote.size();
      while (i < text_.size() && text_.compare(i, quote.size(), quote) != 0)
        i += c == '"' && text_[i] == '\\' ? 2 : 1;
      i += quote.size();
      continue;
    }
    if (c == '[' || c == '{') ++depth;
    if (c == ']' || c == '}') --depth;
    if (depth < 0) break;
    if (c == '#' && depth > 0) {
      i = line_end(i);
      continue;
    }
    if (depth == 0 && (c == ',' || c == '\n' || c == '#')) break;
    ++i;
  }
  i = std::min(i, text_.size());
  while (i > from && (text_[i - 1] == ' ' || text_[i - 1] == '\t' || text_[i - 1] == '\r')) --i;
  return i;
}

void SceneText::set(const Value& table, const std::string& key, const std::string& value) {
  const auto member =
      std::find_if(table.members.begin(), table.members.end(), [&](const Member& m) { return m.key == key; });
  if (member != table.members.end()) {
    const std::size_t from = offset_of(member->value.line, member->value.column);
    changes_.push_back({from, value_end(from), value});
    return;
  }
  const bool root = &table == &document_.root;
  int line = table.line;
  if (root) {
    const auto schema = std::find_if(table.members.begin(), table.members.end(),
                                     [](const Member& m) { return m.key == "schema"; });
    line = schema == table.members.end() ? 1 : schema->line;
  }
  const std::size_t start = offset_of(line, 1), end = line_end(start);
  const std::size_t first = text_.find_first_not_of(" \t", start);
  const bool header = first < end && text_[first] == '[';
  if (!root && !header) {
    throw InputError(
        document_.place(table), "\"" + key + "\" cannot be put in here: the table is written within a line",
        "write the table with a header of its own, such as [view] or [[pass]]; nothing was written");
  }
  changes_.push_back({end, end, "\n" + key + " = " + value});
}

void SceneText::remove(const Value& table, const std::string& key) {
  for (const Member& m : table.members) {
    if (m.key != key) continue;
    const std::size_t from = offset_of(m.line, 1), to = value_end(offset_of(m.value.line, m.value.column));
    changes_.push_back({from, std::min(line_end(to) + 1, text_.size()), ""});
  }
}

void SceneText::set_in(const std::string& table, const std::string& key, const std::string& value) {
  for (const Member& m : document_.root.members) {
    if (m.key != table) continue;
    set(m.value, key, value);
    return;
  }
  appended_ += fmt::format("\n[{}]\n{} = {}\n", table, key, value);
}

std::string SceneText::result() const {
  std::vector<Change> changes = changes_;
  std::stable_sort(changes.begin(), changes.end(),
                   [](const Change& a, const Change& b) { return a.from < b.from; });
  std::string out;
  std::size_t at = 0;
  for (const Change& c : changes) {
    if (c.from > at) out += text_.substr(at, c.from - at);
    out += c.text;
    at = std::max(at, c.to);
  }
  out += text_.substr(std::min(at, text_.size()));
  if (!appended_.empty() && !out.empty() && out.back() != '\n') out += '\n';
  return out + appended_;
}

}  // namespace kirtle
