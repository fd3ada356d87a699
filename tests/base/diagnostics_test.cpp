#include "base/diagnostics.h"

#include <gtest/gtest.h>

namespace kirtle {
namespace {

TEST(Diagnostics, TextWordForWord) {
  Diagnostic d;
  d.place = {"job/scene.toml", 8, 32};
  d.message = "mesh is -1; it must be above 0";
  d.remedy = "count the threads";
  EXPECT_EQ(to_string(d),
            "job/scene.toml:8:32: error: mesh is -1; it must be above 0\n  fix: count the threads");
  d.place.column = 0;
  d.severity = Severity::warning;
  EXPECT_EQ(to_string(d),
            "job/scene.toml:8: warning: mesh is -1; it must be above 0\n  fix: count the threads");
  d.place.line = 0;
  d.severity = Severity::notice;
  d.remedy.clear();
  EXPECT_EQ(to_string(d), "job/scene.toml: note: mesh is -1; it must be above 0");
  d.place.file.clear();
  EXPECT_EQ(to_string(d), "note: mesh is -1; it must be above 0");
}

TEST(Diagnostics, ControlCharactersInAFileNameAreEscaped) {
  Diagnostic d;
  d.place.file = "a\nb\x1b[31m.png";
  d.message = "bad";
  EXPECT_EQ(to_string(d), "a\\x0ab\\x1b[31m.png: error: bad");
}

TEST(Diagnostics, PrintableEscapesAndCuts) {
  EXPECT_EQ(printable("plain"), "plain");
  EXPECT_EQ(printable(std::string_view("\0\t\x7f", 3)), "\\x00\\x09\\x7f");
  EXPECT_EQ(printable("gr\xC3\xBCn"), "gr\xC3\xBCn");
  EXPECT_EQ(printable("\xC2\x9B\x41\xC2\xB5m"), "\\xc2\\x9bA\xC2\xB5m");
  EXPECT_EQ(printable_lines("a\x1b\n\nb"), "a\\x1b\n\nb");
  EXPECT_EQ(printable("12345", 5), "12345");
  EXPECT_EQ(printable("123456", 5), "12345...");
  EXPECT_EQ(printable(""), "");
}

TEST(Diagnostics, CollectsAllAndThrowsThemTogether) {
  Diagnostics d;
  EXPECT_NO_THROW(d.throw_if_errors());
  d.notice({"f", 1, 0}, "one");
  d.warning({"f", 2, 0}, "two");
  EXPECT_FALSE(d.has_errors());
  EXPECT_NO_THROW(d.throw_if_errors());
  d.error({"f", 3, 4}, "three", "mend it");
  Diagnostics more;
  more.error({"g", 0, 0}, "four");
  d.append(more);
  EXPECT_TRUE(d.has_errors());
  ASSERT_EQ(d.all().size(), 4u);
  try {
    d.throw_if_errors();
    FAIL() << "nothing was thrown";
  } catch (const InputError& e) {
    EXPECT_STREQ(e.what(),
                 "f:1: note: one\nf:2: warning: two\nf:3:4: error: three\n  fix: mend it\ng: error: four");
    EXPECT_EQ(e.diagnostics().all().size(), 4u);
  }
}

TEST(Diagnostics, ThrownFileByFileAndDownTheLines) {
  Diagnostics d;
  d.error({"b.toml", 9, 1}, "six");
  d.error({"b.toml", 2, 8}, "five");
  d.error({"a.toml", 3, 1}, "eight");
  d.warning({"b.toml", 2, 3}, "four");
  d.error({"b.toml", 0, 0}, "three");
  d.error({"a.toml", 1, 1}, "seven");
  try {
    d.throw_if_errors();
    FAIL();
  } catch (const InputError& e) {
    std::string words;
    for (const Diagnostic& x : e.diagnostics().all()) words += x.message + ' ';
    EXPECT_EQ(words, "three four five six seven eight ");
    EXPECT_TRUE(e.diagnostics().has_errors());
  }
}

TEST(Diagnostics, AppendedErrorsCount) {
  Diagnostics bad, all;
  bad.error({}, "x");
  all.append(bad);
  EXPECT_TRUE(all.has_errors());
  EXPECT_THROW(all.throw_if_errors(), InputError);
}

TEST(Diagnostics, InputErrorOfOneFault) {
  const InputError e({"f", 2, 0}, "wrong", "right it");
  EXPECT_STREQ(e.what(), "f:2: error: wrong\n  fix: right it");
  ASSERT_EQ(e.diagnostics().all().size(), 1u);
  EXPECT_EQ(e.diagnostics().all()[0].severity, Severity::error);
}

TEST(NearestName, FindsASlipOfThePen) {
  const std::vector<std::string> known{"thickness", "opacity", "mesh", "mask"};
  EXPECT_EQ(nearest_name("thicknes", known), "thickness");
  EXPECT_EQ(nearest_name("thikcness", known), "thickness");  // two letters swapped: distance 2
  EXPECT_EQ(nearest_name("opacity", known), "opacity");
  EXPECT_EQ(nearest_name("mess", known), "mesh");
}

TEST(NearestName, SaysNothingWhenNothingIsNear) {
  const std::vector<std::string> known{"thickness", "opacity"};
  EXPECT_EQ(nearest_name("colour", known), "");
  EXPECT_EQ(nearest_name("", known), "");
  EXPECT_EQ(nearest_name("opacity", {}), "");
  EXPECT_EQ(nearest_name("abcdefghi", {"abcdvwxyz"}), "") << "five letters of nine differ";
  EXPECT_EQ(nearest_name("abcdefghi", {"abcdewxyi"}), "abcdewxyi");
}

TEST(NearestName, TakesTheFirstOfEquals) { EXPECT_EQ(nearest_name("mest", {"mesh", "mess"}), "mesh"); }

TEST(Diagnostics, AppendNewLeavesOutWhatIsThere) {
  Diagnostics all, more;
  all.notice({"a.png", 1, 2}, "m", "r");
  more.notice({"a.png", 1, 2}, "m", "r");
  more.warning({"a.png", 1, 2}, "m", "r");
  more.notice({"b.png", 1, 2}, "m", "r");
  more.notice({"a.png", 1, 3}, "m", "r");
  more.error({"a.png", 1, 2}, "m", "s");
  all.append_new(more);
  EXPECT_EQ(all.all().size(), 5u);
  EXPECT_TRUE(all.has_errors());
}

}  // namespace
}  // namespace kirtle
