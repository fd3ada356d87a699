#pragma once
// The two kinds of failure. A user's data: Diagnostics, collected until all faults are known, then thrown as
// one InputError. Our own bug: KIRTLE_CHECK (check.h).
#include <stdexcept>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace kirtle {

/// Where in a user's file something stands. line and column count from 1; 0 means "the file as a whole".
struct Place {
  std::string file;
  int line = 0;
  int column = 0;
};

enum class Severity { error, warning, notice };

/// One fault: where, what was found and what is allowed, and what to do about it.
struct Diagnostic {
  Severity severity = Severity::error;
  Place place;
  std::string message;  ///< names the key, the value found and what is allowed
  std::string remedy;   ///< may be empty
};

/// "FILE:LINE:COLUMN: error: MESSAGE\n  fix: REMEDY". Control characters from a user's file are escaped.
std::string to_string(const Diagnostic& d);

/// Collects every fault of the user's files, so that they see them all at once.
class Diagnostics {
 public:
  void error(Place place, std::string message, std::string remedy = {});
  void warning(Place place, std::string message, std::string remedy = {});
  void notice(Place place, std::string message, std::string remedy = {});

  bool has_errors() const { return errors_ > 0; }
  const std::vector<Diagnostic>& all() const { return all_; }
  void append(const Diagnostics& other);
  /// The same without those that are here already, word for word and at the same place.
  void append_new(const Diagnostics& other);
  /// File by file, in the order in which files were first told of, and down the lines of each. What is about
  /// a file as a whole comes first.
  void sort();

  /// Throws InputError with all that was collected if any of it is an error.
  void throw_if_errors() const;

 private:
  std::vector<Diagnostic> all_;
  int errors_ = 0;
};

/// The user's input is wrong. what() is the text of every diagnostic, one below the other. Exit status 2.
class InputError : public std::runtime_error {
 public:
  explicit InputError(Diagnostics diagnostics);
  /// One fault alone.
  InputError(Place place, std::string message, std::string remedy = {});
  const Diagnostics& diagnostics() const { return diagnostics_; }

 private:
  Diagnostics diagnostics_;
};

/// At most so many bytes of UTF-8 from its start, no character cut through.
std::string_view start_of(std::string_view text, std::size_t most);

/// Printable form of text out of a user's file: control characters become \xNN, over-long text is cut.
std::string printable(std::string_view text, std::size_t max_length = 200);
/// The same of text of several lines: their ends stay, and nothing is cut.
std::string printable_lines(std::string_view text);

/// The known name nearest to `name` by edit distance, or "" if none is near (over a third of its length, plus
/// one).
std::string nearest_name(std::string_view name, const std::vector<std::string>& known);

}  // namespace kirtle
