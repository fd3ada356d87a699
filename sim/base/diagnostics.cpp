#include "base/diagnostics.h"

#include <algorithm>
#include <cstdio>
#include <numeric>
#include <tuple>

namespace kirtle {

std::string_view start_of(std::string_view text, std::size_t most) {
  if (text.size() <= most) return text;
  while (most > 0 && (static_cast<unsigned char>(text[most]) & 0xC0) == 0x80) --most;
  return text.substr(0, most);
}

std::string printable(std::string_view text, std::size_t max_length) {
  std::string out;
  const std::string_view shown = start_of(text, max_length);
  bool second = false;  // of a character of two bytes
  for (std::size_t i = 0; i < shown.size(); ++i) {
    if (out.size() >= max_length) return out + "...";
    const auto u = static_cast<unsigned char>(shown[i]);
    // U+0080 to U+009F, two bytes each: to some terminals the same as ESC and a letter.
    const auto next = i + 1 < shown.size() ? static_cast<unsigned char>(shown[i + 1]) : 0;
    const bool first = u == 0xC2 && next >= 0x80 && next < 0xA0;
    if (u < 0x20 || u == 0x7f || first || second) {
      char escaped[8];
      std::snprintf(escaped, sizeof escaped, "\\x%02x", u);
      out += escaped;
    } else {
      out += shown[i];
    }
    second = first;
  }
  return shown.size() < text.size() ? out + "..." : out;
}

std::string printable_lines(std::string_view text) {
  std::string out;
  for (;;) {
    const std::size_t end = text.find('\n');
    out += printable(text.substr(0, end), std::string_view::npos);
    if (end == std::string_view::npos) return out;
    out += '\n';
    text.remove_prefix(end + 1);
  }
}

std::string to_string(const Diagnostic& d) {
  std::string out = printable(d.place.file, 4096);
  if (d.place.line > 0) out += ":" + std::to_string(d.place.line);
  if (d.place.column > 0) out += ":" + std::to_string(d.place.column);
  if (!out.empty()) out += ": ";
  switch (d.severity) {
    case Severity::error:
      out += "error: ";
      break;
    case Severity::warning:
      out += "warning: ";
      break;
    case Severity::notice:
      out += "note: ";
      break;
  }
  out += printable_lines(d.message);
  if (!d.remedy.empty()) out += "\n  fix: " + printable_lines(d.remedy);
  return out;
}

void Diagnostics::error(Place place, std::string message, std::string remedy) {
  all_.push_back({Severity::error, std::move(place), std::move(message), std::move(remedy)});
  ++errors_;
}

void Diagnostics::warning(Place place, std::string message, std::string remedy) {
  all_.push_back({Severity::warning, std::move(place), std::move(message), std::move(remedy)});
}

void Diagnostics::notice(Place place, std::string message, std::string remedy) {
  all_.push_back({Severity::notice, std::move(place), std::move(message), std::move(remedy)});
}

void Diagnostics::append(const Diagnostics& other) {
  all_.insert(all_.end(), other.all_.begin(), other.all_.end());
  errors_ += other.errors_;
}

void Diagnostics::append_new(const Diagnostics& other) {
  for (const Diagnostic& d : other.all_) {
    const bool known = std::any_of(all_.begin(), all_.end(), [&](const Diagnostic& k) {
      return k.severity == d.severity && k.message == d.message && k.remedy == d.remedy &&
             k.place.file == d.place.file && k.place.line == d.place.line && k.place.column == d.place.column;
    });
    if (known) continue;
    all_.push_back(d);
    errors_ += d.severity == Severity::error;
  }
}

void Diagnostics::sort() {
  std::vector<std::string> files;
  const auto file_of = [&](const Diagnostic& d) {
    return std::find(files.begin(), files.end(), d.place.file) - files.begin();
  };
  for (const Diagnostic& d : all_)
    if (file_of(d) == static_cast<std::ptrdiff_t>(files.size())) files.push_back(d.place.file);
  std::stable_sort(all_.begin(), all_.end(), [&](const Diagnostic& a, const Diagnostic& b) {
    return std::make_tuple(file_of(a), a.place.line, a.place.column) <
           std::make_tuple(file_of(b), b.place.line, b.place.column);
  });
}

void Diagnostics::throw_if_errors() const {
  if (has_errors()) throw InputError(*this);
}

namespace {
std::string sorted_and_joined(Diagnostics& diagnostics) {
  diagnostics.sort();
  std::string out;
  for (const Diagnostic& d : diagnostics.all()) {
    if (!out.empty()) out += '\n';
    out += to_string(d);
  }
  return out;
}
}  // namespace

InputError::InputError(Diagnostics diagnostics)
    : std::runtime_error(sorted_and_joined(diagnostics)), diagnostics_(std::move(diagnostics)) {}

InputError::InputError(Place place, std::string message, std::string remedy)
    : InputError([&] {
        Diagnostics d;
        d.error(std::move(place), std::move(message), std::move(remedy));
        return d;
      }()) {}

std::string nearest_name(std::string_view name, const std::vector<std::string>& known) {
  std::string best;
  std::size_t best_distance = name.size() / 3 + 1;
  for (const std::string& candidate : known) {
    std::vector<std::size_t> row(candidate.size() + 1);
    std::iota(row.begin(), row.end(), std::size_t{0});
    for (std::size_t i = 1; i <= name.size(); ++i) {
      std::size_t diagonal = row[0];
      row[0] = i;
      for (std::size_t j = 1; j <= candidate.size(); ++j) {
        const std::size_t substituted = diagonal + (name[i - 1] == candidate[j - 1] ? 0 : 1);
        diagonal = row[j];
        row[j] = std::min({row[j] + 1, row[j - 1] + 1, substituted});
      }
    }
    if (row.back() <= best_distance && (best.empty() || row.back() < best_distance)) {
      best_distance = row.back();
      best = candidate;
    }
  }
  return best;
}

}  // namespace kirtle
