#pragma once
// A TOML text whose keys are changed in place: everything else, comments and layout too, stays as it is.
#include "job/document.h"

#include <string>
#include <vector>

namespace kirtle {

class SceneText {
 public:
  /// `document` is of this text.
  SceneText(std::string text, const Document& document) : text_(std::move(text)), document_(document) {}

  /// Puts key = value (value as TOML) into a table, in place of its old value or as a new line (after the
  /// header of the table; at the root after `schema`). Throws InputError if the table's layout leaves no
  /// place for it.
  void set(const Value& table, const std::string& key, const std::string& value);
  /// Takes the line of a key out, if it is there.
  void remove(const Value& table, const std::string& key);
  /// The same in a table of the root, which is added at the end if it is missing.
  void set_in(const std::string& table, const std::string& key, const std::string& value);

  std::string result() const;

 private:
  struct Change {
    std::size_t from = 0, to = 0;
    std::string text;
  };
  std::size_t offset_of(int line, int column) const;
  std::size_t value_end(std::size_t from) const;
  std::size_t line_end(std::size_t at) const;

  std::string text_;
  const Document& document_;
  std::vector<Change> changes_;
  std::string appended_;
};

/// A number that reads back as the same double.
std::string toml_number(double v);

}  // namespace kirtle
