#include "job/read_order.h"

#include "proof/order_fixture.h"

#include <fstream>
#include <iterator>

namespace kirtle::test {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

class ReadOrder : public Orders {};

TEST_F(ReadOrder, HoldsWhatTheFileSays) {
  folder_.write("a.toml", "not read here");
  const Order o = order(
      "schema = 1\ncustomer = \"Zoë\"\norder = \"7\"\ntitle = \"t\"\nnote = \"n\"\ndate = 2026-11-25\ndue = "
      "2026-12-01\n"
      "version = 3\nreplaces = 2\nscreen_sets = \"two\"\ncolours_may_shift = \"1/64 "
      "in\"\nplacement_may_shift = 20\n"
      "[[print]]\nlocation = \"left chest\"\nscene = \"a.toml\"\nwidth = \"3.5 in\"\ndrop = \"70 mm\"\n"
      "[[shirts]]\nshirt = \"black-cotton\"\nstyle = \"long\"\nquantities = { S = 2, YM = 1, \"3XL\" = 0 }\n"
      "[[shirts]]\nshirt = \"navy-cotton\"\nquantities = { S = 5 }\n");
  EXPECT_EQ(o.customer, "Zoë");
  EXPECT_EQ(o.date, "2026-11-25");
  EXPECT_EQ(o.due, "2026-12-01");
  EXPECT_EQ(o.version, 3);
  EXPECT_EQ(o.replaces, 2);
  EXPECT_EQ(o.sets, ScreenSets::two);
  EXPECT_NEAR(o.colours_may_shift.v, 25.4 / 64, 1e-12);
  EXPECT_EQ(o.placement_may_shift.v, 20);
  ASSERT_EQ(o.prints.size(), 1u);
  EXPECT_EQ(o.prints[0].location, PrintLocation::left_chest);
  EXPECT_NEAR(o.prints[0].width->v, 88.9, 1e-9);
  EXPECT_EQ(o.prints[0].drop->v, 70);
  EXPECT_EQ(o.total(), 8);
  const std::vector<SizeCount> sizes = o.by_size();
  ASSERT_EQ(sizes.size(), 2u);
  EXPECT_EQ(sizes[0].size, ShirtSize::ym);
  EXPECT_EQ(sizes[1].shirts, 7);
}

TEST_F(ReadOrder, SaysEveryFaultAtOnce) {
  EXPECT_THAT(
      faults(
          "schema = 1\ncustomer = 3\ndate = \"today\"\nversion = 2\nreplaces = 2\nscreen_sets = \"three\"\n"
          "colours_may_shift = nan\nwhen = 1\n"
          "[[print]]\nlocation = \"knee\"\nscene = \"none.toml\"\nwidth = \"9 mm\"\n"
          "[[shirts]]\nshirt = \"Black\"\nquantities = { S = -1, XXL = 2, M = 100001 }\n"),
      ::testing::UnorderedElementsAre(
          HasSubstr("customer is 3"), HasSubstr("\"order\" is missing"), HasSubstr("date is \"today\""),
          HasSubstr("replaces is 2 and version 2"), HasSubstr("screen_sets is \"three\""),
          HasSubstr("colours_may_shift is nan"), HasSubstr("\"when\""), HasSubstr("location is \"knee\""),
          HasSubstr("there is no scene"), HasSubstr("width is \"9 mm\""), HasSubstr("shirt is \"Black\""),
          HasSubstr("S is -1"), HasSubstr("quantities.XXL"), HasSubstr("M is 100001"),
          HasSubstr("names no size")));
}

TEST_F(ReadOrder, WritesOutWhatIsMeant) {
  folder_.write("a.toml", "");
  EXPECT_THAT(
      faults("schema = 1\ncustomer = \" \"\norder = 2026\n"
             "[[print]]\nlocation = \"chest\"\nscene = \"a.toml\"\nwidth = \"12\"\n"
             "[[print]]\nlocation = \"front\"\nscene = \"a.toml\"\nwidth = \"30,5 cm\"\n"
             "[[shirts]]\nshirt = \"navy\"\nquantities = { S = 1, XXL = 3, XXXXL = 1 }\n"),
      ElementsAre(
          HasSubstr("2:12 customer is empty; it must say for whom the order is"),
          HasSubstr("3:9 order is 2026; it must be text in quotes | write \"2026\""),
          HasSubstr("print[1].location is \"chest\""),
          HasSubstr(
              "print[1].width is \"12\"; it must be text with a unit (um, mm, cm, in or pt), such as \"300 "
              "mm\" or \"12 in\" | write \"12 mm\" or \"12 in\""),
          HasSubstr("| write \"30.5 cm\", with a decimal point"),
          HasSubstr("13:9 there is no shirt \"navy\" | did you mean \"navy-blend\" or \"navy-cotton\"?"),
          HasSubstr("shirts[1].quantities.XXL\" | write \"2XL\", in quotes"),
          HasSubstr("shirts[1].quantities.XXXXL\" | write \"4XL\", in quotes")));
}

// The scene's own folder of records may hold the shirt.
TEST_F(ReadOrder, ShirtsOfTheScenesFoldersAreKnown) {
  folder_.write("a.toml", "data = [\"mine\"]\n");
  const std::string text =
      "schema = 1\ncustomer = \"c\"\norder = \"7\"\n[[print]]\nlocation = \"front\"\nscene = \"a.toml\"\n"
      "[[shirts]]\nshirt = \"our-own\"\nquantities = { S = 1 }\n";
  EXPECT_THAT(faults(text), ElementsAre(HasSubstr("8:9 there is no shirt \"our-own\"")));
  folder_.write("mine/shirts/our-own.toml", "");
  EXPECT_THAT(faults(text), ::testing::IsEmpty());
}

TEST_F(ReadOrder, AskedTwiceOrForNothing) {
  folder_.write("a.toml", "");
  const std::string top = "schema = 1\ncustomer = \"c\"\norder = \"7\"\n";
  EXPECT_THAT(faults(top), ElementsAre(HasSubstr("no print"), HasSubstr("no shirts")));
  const std::string print = "[[print]]\nlocation = \"front\"\nscene = \"a.toml\"\n";
  const std::string shirts = "[[shirts]]\nshirt = \"black-cotton\"\nquantities = { S = 1 }\n";
  EXPECT_THAT(faults(top + print + print + shirts + shirts),
              ElementsAre(HasSubstr("two prints at \"front\""), HasSubstr("ordered twice")));
}

TEST_F(ReadOrder, TakesASceneAlone) {
  const Order o = read_order(scene("one", "white-cotton", {{"black", "black"}}, 3, 3));
  EXPECT_TRUE(o.is_scene);
  ASSERT_EQ(o.prints.size(), 1u);
  EXPECT_EQ(o.total(), 0);
}

TEST_F(ReadOrder, FormatsPageNamesEveryKey) {
  const std::string odd = "qqqqqqqq = 1\n";
  std::ifstream in(KIRTLE_SOURCE_DIR "/docs/formats.md");
  const std::string page{std::istreambuf_iterator<char>(in), {}};
  const std::string mark = "allowed here: ";
  int lists = 0;
  for (const std::string& fault : faults(odd + "schema = 1\n[[print]]\n" + odd + "[[shirts]]\n" + odd)) {
    const std::size_t at = fault.find(mark);
    if (at == std::string::npos) continue;
    ++lists;
    std::string keys = fault.substr(at + mark.size()) + ", ";
    for (std::size_t comma; (comma = keys.find(", ")) != std::string::npos; keys.erase(0, comma + 2)) {
      const std::string key = keys.substr(0, comma);
      EXPECT_TRUE(page.find('`' + key + '`') != std::string::npos ||
                  page.find('[' + key + ']') != std::string::npos)
          << key;
    }
  }
  EXPECT_EQ(lists, 3);
}

}  // namespace
}  // namespace kirtle::test
