#pragma once
// Text for people, on standard output.
#include "base/diagnostics.h"

#include <cstdio>
#include <fmt/format.h>
#include <string>
#include <utility>

namespace kirtle {

/// As fmt::print; but titles, names and paths come out of users' files, so that what a terminal would obey is
/// shown as \xNN. JSON has escapes of its own and is printed as it is.
template <class... Args>
void say(fmt::format_string<Args...> format, Args&&... args) {
  const std::string text = printable_lines(fmt::format(format, std::forward<Args>(args)...));
  std::fwrite(text.data(), 1, text.size(), stdout);
}

}  // namespace kirtle
