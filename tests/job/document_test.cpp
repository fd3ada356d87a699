#include "job/document.h"

#include "job/files.h"
#include "job/table_reader.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <random>

namespace kirtle {
namespace {

using test::lines_of;
using test::TempFolder;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Not;

std::vector<std::string> faults_in(const std::string& text) {
  const TempFolder folder;
  Diagnostics faults;
  parse_document(text, "x.toml", faults);
  return lines_of(faults, folder);
}

TEST(Document, KeepsLineAndColumn) {
  Diagnostics faults;
  const auto d = parse_document("a = 1\n[t]\n  b = [1.5, \"two\", true, 2026-11-25]\n", "x.toml", faults);
  ASSERT_TRUE(d.has_value());
  ASSERT_EQ(d->root.members.size(), 2u);
  const Value& list = d->root.members[1].value.members[0].value;
  EXPECT_EQ(list.line, 3);
  EXPECT_EQ(list.column, 7);
  ASSERT_EQ(list.items.size(), 4u);
  EXPECT_EQ(list.items[1].column, 13);
  EXPECT_EQ(shown(list.items[0]), "1.5");
  EXPECT_EQ(shown(list.items[1]), "\"two\"");
  EXPECT_EQ(shown(list.items[2]), "true");
  EXPECT_EQ(shown(list.items[3]), "the date 2026-11-25");
  EXPECT_EQ(d->root.members[1].value.members[0].column, 3);
}

TEST(Document, SaysWhereItIsNotToml) {
  EXPECT_THAT(faults_in("a = 1\nb = \n"), ElementsAre(HasSubstr("2:5 this is not TOML: ")));
  EXPECT_THAT(faults_in("a = 1\na = 2\n"),
              ElementsAre(HasSubstr(
                  "2:5 this is not TOML: Error while parsing key-value pair: cannot redefine existing")));
  EXPECT_THAT(faults_in("a = \"\xff\xfe\"\n"), ElementsAre(HasSubstr("this is not TOML: ")));
  EXPECT_THAT(faults_in(std::string("a = \0", 5)), ElementsAre(HasSubstr("this is not TOML: ")));
}

TEST(Document, SaysThatANumberHasADecimalPoint) {
  EXPECT_THAT(faults_in("a = 1\nangle = -22,5  # degrees\nb = 2\n"),
              ElementsAre(::testing::EndsWith(" | write -22.5, with a decimal point")));
  for (const char* other : {"a = [1,5\n", "a = 1,5,6\n", "a = 1,x\n", "a = \"1,5\n"})
    EXPECT_THAT(faults_in(other), ElementsAre(Not(HasSubstr("decimal point")))) << other;
}

TEST(Document, SaysWhatAPictureIs) {
  const TempFolder folder;
  Diagnostics faults;
  read_document(folder.write("a.png", "\x89PNG\r\n"), faults);
  read_document(folder.write("a.toml", std::string("MM\0*", 4)), faults);
  read_document(folder.write("b.toml", "M = 1\n"), faults);
  EXPECT_THAT(lines_of(faults, folder),
              ElementsAre(HasSubstr("this is a PNG picture, not a text file such as a scene or an order"),
                          HasSubstr("this is a TIFF picture")));
}

TEST(Document, RefusesDeepNestingBeforeParsing) {
  EXPECT_TRUE(faults_in("a = " + std::string(16, '[') + std::string(16, ']')).empty());
  EXPECT_THAT(
      faults_in("a = " + std::string(17, '[') + std::string(17, ']')),
      ElementsAre(
          "1:21 nested deeper than 16 levels | no file of Kirtle needs more than 4; look for a bracket "
          "that is not closed"));
  std::string dotted = "a";
  for (int i = 0; i < 300000; ++i) dotted += ".a";
  EXPECT_THAT(faults_in(dotted + " = 1"), ElementsAre(HasSubstr("nested deeper than 16 levels")));
  EXPECT_THAT(faults_in('[' + dotted + ']'), ElementsAre(HasSubstr("nested deeper than 16 levels")));
  std::string tables = "a = ";
  for (int i = 0; i < 17; ++i) tables += "{a=";
  EXPECT_THAT(faults_in(tables), ElementsAre(HasSubstr("nested deeper than 16 levels")));
}

TEST(Document, BracketsInStringsAndCommentsAreNotNesting) {
  const std::string many(40, '[');
  EXPECT_TRUE(faults_in("a = \"" + many + "\" # " + many + "\nb = '''" + many + "\n" + many +
                        "'''\nc = \"\\\"" + many + "\"\nd = [" +
                        "0.1,0.2,0.3,0.4,0.5,0.6,0.7,0.8,0.9,1.1,1.2,1.3,1.4,1.5,1.6,1.7,1.8]\n")
                  .empty());
}

TEST(Document, RefusesFilesItShouldNotRead) {
  const TempFolder folder;
  Diagnostics faults;
  read_document(folder.path() / "none.toml", faults);
  read_document(folder.path() / "none.toml", faults, {"scene.toml", 3, 4});
  read_document(folder.path(), faults);
  read_document("/dev/zero", faults);
  read_document(folder.write("big.toml", std::string(kMaxDocumentBytes + 1, '#')), faults);
  EXPECT_TRUE(
      read_document(folder.write("just.toml", std::string(kMaxDocumentBytes, '#')), faults).has_value());
  EXPECT_THAT(
      lines_of(faults, folder),
      ElementsAre(
          "0:0 there is no such file | check the path", "3:4 there is no file /none.toml | check the path",
          "0:0 this is not an ordinary file | name a text file (TOML)",
          "0:0 this is not an ordinary file | name a text file (TOML)",
          "0:0 the file has 1048577 bytes; at most 1048576 are allowed | name a text file (TOML); plates "
          "and pictures are named inside it"));
}

TEST(Document, NoBytesMakeItCrash) {
  std::mt19937 random(7);
  const std::string pieces[] = {"[", "]", "{", "}", "=",  "\"", "'", "\"\"\"", "'''", "#",  "\n",
                                ".", ",", "a", "1", "\\", "-",  " ", "\xc3",   "inf", "nan"};
  for (int round = 0; round < 3000; ++round) {
    std::string text;
    for (auto i = random() % 60; i > 0; --i) text += pieces[random() % std::size(pieces)];
    Diagnostics faults;
    const auto d = parse_document(text, "x.toml", faults);
    EXPECT_EQ(d.has_value(), !faults.has_errors());
  }
}

TEST(Range, HoldsItsEndsAndNoNaN) {
  constexpr double nan = std::numeric_limits<double>::quiet_NaN(),
                   inf = std::numeric_limits<double>::infinity();
  const Range share{0, 1};
  EXPECT_TRUE(share.holds(0));
  EXPECT_TRUE(share.holds(1));
  EXPECT_FALSE(share.holds(-1e-12));
  EXPECT_FALSE(share.holds(1 + 1e-12));
  EXPECT_FALSE(share.holds(nan));
  EXPECT_FALSE((Range{0}).holds(inf));
  EXPECT_FALSE((Range{}).holds(-inf));
  EXPECT_FALSE((Range{0, 1, true}).holds(0));
  EXPECT_TRUE((Range{0, 1, true}).holds(1e-300));
  EXPECT_EQ(to_string(share), "0..1");
  EXPECT_EQ(to_string(Range{0}), ">= 0");
  EXPECT_EQ(to_string(Range{0, 500, true}), "> 0 and at most 500");
}

class Reader : public ::testing::Test {
 protected:
  TableReader read(const std::string& text) {
    document_ = *parse_document(text, "x.toml", faults_);
    return TableReader(document_, document_.root, "", faults_, &assumed_);
  }
  std::vector<std::string> lines() { return lines_of(faults_, folder_); }
  const TempFolder folder_;
  Document document_;
  Diagnostics faults_;
  std::vector<std::string> assumed_;
};

TEST_F(Reader, CollectsEveryFaultAndGoesOn) {
  TableReader r = read(
      "number = nan\ninfinite = inf\nwhole = 2.0\ncount = 9\nword = \"rund\"\nflag = 1\ntext = 5\nid = "
      "\"No\"\n"
      "list = [1, \"x\"]\nlength = \"1 ft\"\nfar = \"3 in\"\ntable = 1\ntables = [1]\n");
  r.number("number", {0, 1});
  r.number("infinite", {0});
  r.whole("whole", 1, 4);
  r.whole("count", 1, 4);
  r.choice<int>("word", {{"round", 1}, {"line", 2}});
  r.flag_or("flag", false);
  r.text("text");
  r.id("id");
  r.numbers("list", {0}, 2, 2);
  r.quantity("length", Measure::length_mm, "mm", {0, 50});
  r.quantity("far", Measure::length_mm, "mm", {0, 50});
  r.table("table");
  r.tables("tables", 5);
  r.number("gone", {0, 1}, Need::required);
  r.finish();
  EXPECT_THAT(
      lines(),
      ElementsAre(
          "1:10 number is nan; it must be a number, 0..1", "2:12 infinite is inf; it must be a number, >= 0",
          "3:9 whole is 2; it must be a whole number, 1..4",
          "4:9 count is 9; it must be a whole number, 1..4",
          "5:8 word is \"rund\"; it must be one of \"round\", \"line\" | did you mean \"round\"?",
          "6:8 flag is 1; it must be true or false", "7:8 text is 5; it must be text in quotes | write \"5\"",
          "8:6 id is \"No\"; it must be an id: small letters, digits and \"-\", at most 64, not "
          "starting with \"-\"",
          "9:12 list[1] is \"x\"; it must be a number, >= 0",
          "10:10 length is \"1 ft\"; it must be a number in mm, or text with a unit (um, mm, cm, "
          "in or pt), such as \"0.3 mm\"",
          "11:7 far is \"3 in\" (76.2 mm); it must be 0..50 mm",
          "12:9 table is 1; it must be a table, [table]",
          "13:10 tables is a list of 1; it must be a list of tables, each under [[tables]]",
          "1:1 \"gone\" is missing; it must be a number, 0..1 | add the key"));
}

TEST_F(Reader, ReportsUnknownKeysWithTheNearestKnownOne) {
  TableReader r = read("strkes = 2\nzzz = 1\n\"a\\u001bb\" = 1\n");
  r.whole("strokes", 1, 4);
  r.flag_or("flash", false);
  r.finish();
  EXPECT_THAT(lines(), ElementsAre("1:1 unknown key \"strkes\" | did you mean \"strokes\"?",
                                   "2:1 unknown key \"zzz\" | allowed here: strokes, flash",
                                   "3:1 unknown key \"a\\x1bb\" | allowed here: strokes, flash"));
}

TEST_F(Reader, RemembersDefaultsTaken) {
  TableReader r = read("a = 0.5\n");
  EXPECT_EQ(r.number_or("a", {0, 1}, 0.1), 0.5);
  EXPECT_EQ(r.number_or("b", {0, 1}, 0.1), 0.1);
  EXPECT_THAT(assumed_, ElementsAre("b"));
}

TEST_F(Reader, SpectrumIsLinearBetweenAndHeldBeyond) {
  TableReader r = read("wavelength_nm = [400, 500, 600]\nK = [1, 2, 0]\n");
  const std::vector<double> nm = read_wavelengths(r);
  const Spectrum s = *r.spectrum("K", nm, {0});
  EXPECT_EQ(s[0], 1);  // 380 nm
  EXPECT_NEAR(s[(450 - 380) / 10], 1.5, 1e-12);
  EXPECT_NEAR(s[(500 - 380) / 10], 2, 1e-12);
  EXPECT_NEAR(s[(590 - 380) / 10], 0.2, 1e-12);
  EXPECT_EQ(s[35], 0);  // 730 nm
}

TEST_F(Reader, SpectrumNamesTheBand) {
  TableReader r = read("wavelength_nm = [400, 500, 600]\nK = [1, nan, -0.011]\nS = [1, 2]\nback = 1\n");
  const std::vector<double> nm = read_wavelengths(r);
  r.spectrum("K", nm, {0});
  r.spectrum("S", nm, {0});
  EXPECT_THAT(
      lines(),
      ElementsAre(
          "2:9 K[1] (500 nm) is nan; it must be a number, >= 0",
          "2:14 K[2] (600 nm) is -0.011; it must be a number, >= 0",
          "3:5 S is a list of 2; it must be a list of 3 numbers, one for each of wavelength_nm, >= 0"));
}

TEST_F(Reader, WavelengthsMustRise) {
  TableReader r = read("wavelength_nm = [400, 500, 500]\n");
  EXPECT_TRUE(read_wavelengths(r).empty());
  EXPECT_THAT(lines(), ElementsAre("1:28 wavelength_nm[2] is 500 after 500; wavelengths must rise"));
}

}  // namespace
}  // namespace kirtle
