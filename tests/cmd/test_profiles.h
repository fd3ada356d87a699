#pragma once
// ICC profiles made up with Little CMS for one test.
#include <filesystem>

namespace kirtle::test {

/// A wide RGB space, gamma 2.2, D50 white.
void save_wide_rgb(const std::filesystem::path& file);
/// A four-ink printer that knows only black: K = 1 - L*/100 exactly, a* = b* = 0.
void save_black_only_cmyk(const std::filesystem::path& file);

}  // namespace kirtle::test
