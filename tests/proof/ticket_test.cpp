// The ticket: heads as the press has them, grams, places to watch, and nothing made up.
#include "predict/ink_used.h"
#include "proof/order_fixture.h"

#include <regex>

namespace kirtle::test {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

class Ticket : public Orders {};

/// Rows of the table of heads: what stands in the cells of one row.
std::vector<std::vector<std::string>> head_rows(const Page& page) {
  std::vector<std::vector<std::string>> rows;
  for (const PlacedItem& item : page.items()) {
    if (!item.name.starts_with("heads cell ")) continue;
    const std::size_t row = std::stoul(item.name.substr(11));
    if (rows.size() <= row) rows.resize(row + 1);
    rows[row].push_back(std::get<TextItem>(item.what).text);
  }
  return rows;
}

// Six inks with the base, one flash, one cool-down: 8 stations (common practice, no source).
TEST_F(Ticket, ListsEveryHead) {
  const std::vector<InkText> inks{{"base", "base-white", "flash = true\ncool_down = true"},
                                  {"yellow", "lemon-yellow"},
                                  {"red", "red"},
                                  {"blue", "royal-blue"},
                                  {"green", "kelly-green"},
                                  {"black", "black"}};
  const Made m =
      made(read_order(scene("s", "black-cotton", inks, 10, 10, "[press]\npreset = \"average-automatic\"\n")));
  const auto rows = head_rows(m.ticket.pages[0]);
  ASSERT_EQ(rows.size(), 10u);
  EXPECT_EQ(rows[0][1], "base");
  EXPECT_EQ(rows[1][1], "FLASH");
  EXPECT_EQ(rows[2][1], "COOL");
  for (std::size_t i = 3; i < 8; ++i) EXPECT_EQ(rows[i][1], inks[i - 2].plate);
  EXPECT_EQ(rows[8][1], "empty");
  EXPECT_EQ(rows[9], (std::vector<std::string>{"10", "empty"}));
}

// 12 x 12 in solid white through 43/cm-80: 4.5 g within 25 %, two strokes 9 g, which is 1.1 to 1.3 kg for 100
// shirts with loading (common practice, no source; two flashed strokes are two passes here).
TEST_F(Ticket, WeighsTheInk) {
  const std::string top = "schema = 1\ntitle = \"w\"\nshirt = \"black-cotton\"\n";
  plate("w.png", 600, 600, 50, [](int, int) { return 1.0; });
  const std::string one = "[[pass]]\nplate = \"white\"\nink = \"base-white\"\nmesh = \"43-80\"\n";
  const auto weigh = [&](const std::string& passes) {
    Diagnostics notes;
    const auto file = folder_.write(
        "w.toml", top + "[[plate]]\nname = \"white\"\nfile = \"w.png\"\nink_is = \"dark\"\n" + passes);
    const std::vector<PrintStudy> studies = study_prints(read_order(file), {}, notes);
    double sum = 0;
    for (const PassStudy& p : studies[0].passes) sum += p.grams_a_shirt;
    return sum;
  };
  const double single = weigh(one), twice = weigh(one + "flash = true\n" + one);
  EXPECT_NEAR(single, 4.5, 4.5 * 0.25);
  EXPECT_NEAR(twice, 9, 9 * 0.25);
  EXPECT_NEAR(twice, 2 * single, 1e-9);
  const InkToMix mix = ink_to_mix(9, 100);
  EXPECT_NEAR(mix.low_g, 1140, 1e-9);
  EXPECT_NEAR(mix.high_g, 1240, 1e-9);
}

TEST_F(Ticket, MakesUpNoTimesAndTemperatures) {
  const std::regex invented(R"(\d\s*(C|F|°C|°F|s|sec|seconds|min)\b)");
  const Made m = made(read_order(scene("s", "forest-green-cotton", {{"cream", "discharge-cream"}}, 4, 4)));
  EXPECT_FALSE(std::regex_search(words_of(m.ticket), invented)) << words_of(m.ticket);
  EXPECT_THAT(words_of(m.ticket), HasSubstr("Dryer\n"));
  EXPECT_THAT(words_of(m.ticket), HasSubstr("formaldehyde"));
  const Made stated =
      made(read_order(scene("s", "forest-green-cotton", {{"cream", "discharge-cream"}}, 4, 4,
                            "[dryer]\nsteps = [{ temperature = \"150 C\", seconds = 80 }]\n")));
  EXPECT_THAT(words_of(stated.ticket), HasSubstr("Dryer (predicted for 150 C (302 F) 80 s)"));
}

// A dark bar in a light ground that laps 0.3 mm under it at the left and 0.1 mm at the right: the right goes
// first.
TEST_F(Ticket, NamesThePlaceThatGoesFirst) {
  constexpr double kPpi = 254;  // 10 pixels a mm
  plate("light.png", 1000, 800, kPpi, [](int x, int y) {
    const bool hole = x >= 403 && x < 599 && y >= 200 && y < 600;
    return hole || x < 20 || x >= 980 || y < 20 || y >= 780 ? 0.0 : 1.0;
  });
  plate("dark.png", 1000, 800, kPpi,
        [](int x, int y) { return x >= 400 && x < 600 && y >= 195 && y < 605 ? 1.0 : 0.0; });
  const Made m = made(read_order(folder_.write("s.toml",
                                               "schema = 1\ntitle = \"t\"\nshirt = \"red-cotton\"\n"
                                               "[[plate]]\nname = \"light\"\nfile = \"light.png\"\nink_is = "
                                               "\"dark\"\nink = \"base-white\"\nmesh = \"61-64\"\n"
                                               "ink_spread_um = 0\n"
                                               "[[plate]]\nname = \"dark\"\nfile = \"dark.png\"\nink_is = "
                                               "\"dark\"\nink = \"black\"\nmesh = \"61-64\"\n"
                                               "ink_spread_um = 0\n")));
  ASSERT_FALSE(m.studies[0].watch.empty());
  const WatchPlace& first = m.studies[0].watch[0];
  EXPECT_NEAR(first.x_mm, 10, 0.5);  // from the middle; the bar's right edge
  EXPECT_NEAR(first.allowed_mm, 0.1, 0.03);
  EXPECT_EQ(first.shows, "shirt");
  EXPECT_THAT(words_of(m.ticket), HasSubstr("mm (0.4 in) right of the centre line"));
}

TEST_F(Ticket, OneScreenHasNothingToBeInRegisterWith) {
  const Made m = made(read_order(scene("s", "white-cotton", {{"black", "black"}}, 4, 4)));
  EXPECT_THAT(words_of(m.ticket), HasSubstr("One screen: nothing to be in register with"));
}

TEST_F(Ticket, SaysWhereTheCurveIs) {
  const Made m =
      made(read_order(scene("s", "white-cotton", {{"black", "black", "curve_on_film = \"plates\""}}, 4, 4)));
  EXPECT_THAT(words_of(m.ticket), HasSubstr("curve is in the plates"));
  EXPECT_THAT(words_of(m.ticket), HasSubstr("61-64 (155/in)"));
}

// Ink of 2400 x 6 pixels is shrunk by 12, which is more than its rows: only the ink itself is looked at.
TEST_F(Ticket, PlatesOfALongThinLineAreTheInkAlone) {
  const auto plates_of = [&](int width, int height, const std::function<bool(int x, int y)>& inked) {
    plate("line.png", width, height, 300, [&](int x, int y) { return inked(x, y) ? 1.0 : 0.0; });
    Diagnostics notes;
    const auto file = folder_.write(
        "line.toml",
        "schema = 1\ntitle = \"Line\"\nshirt = \"white-cotton\"\n[[plate]]\nname = \"red\"\nfile = "
        "\"line.png\"\nink_is = \"dark\"\nink = \"red\"\nmesh = \"61-64\"\n");
    return study_prints(read_order(file), {}, notes)[0].plates;
  };
  const auto expect_black = [](const std::vector<PagePicture>& plates, int width, int height) {
    ASSERT_EQ(plates.size(), 1u);
    EXPECT_EQ(plates[0].width, width);
    EXPECT_EQ(plates[0].height, height);
    for (std::size_t i = 0; i < plates[0].rgba.size(); i += 4) ASSERT_EQ(plates[0].rgba[i], 0) << i / 4;
  };
  expect_black(plates_of(2400, 6, [](int, int) { return true; }), 200, 1);
  expect_black(plates_of(6, 2400, [](int, int) { return true; }), 1, 200);
  expect_black(plates_of(2400, 40, [](int, int y) { return y < 6; }), 200, 1);
}

// All that the crew has to read: nothing is cut, and nothing is smaller than 7 points.
TEST_F(Ticket, AllShirtsThePlaceTheNoteAndTheScaleCanBeRead) {
  scene("a", "forest-green-cotton", {{"cream", "base-white"}}, 10, 10, {}, "Moth");
  scene("b", "black-cotton", {{"white", "base-white"}}, 8, 4, {}, "Reef");
  std::string text =
      "schema = 1\ncustomer = \"Harbour choir\"\norder = \"7\"\nnote = \"Fold and bag by size, and pack each "
      "voice of the choir into its own box; deliver to the back door before noon.\"\n"
      "[[print]]\nlocation = \"front\"\nscene = \"a.toml\"\nwidth = \"12 in\"\n"
      "[[print]]\nlocation = \"back\"\nscene = \"b.toml\"\n";
  const std::vector<std::string> shirts{"forest-green-cotton", "royal-cotton", "white-cotton",
                                        "sand-cotton",         "navy-cotton",  "red-cotton"};
  for (std::size_t i = 0; i < shirts.size(); ++i)
    text += "[[shirts]]\nshirt = \"" + shirts[i] +
            "\"\nstyle = \"heavy tee, long sleeves\"\nquantities = { YM = " + std::to_string(i + 1) +
            ", S = 2, M = 3, L = 4, XL = 5, \"2XL\" = 6, \"3XL\" = 7, \"4XL\" = 8, \"5XL\" = 9 }\n";
  const Made m = made(order(text));
  expect_laid_out(m.ticket);
  for (const Page& page : m.ticket.pages) {
    for (const PlacedItem& item : page.items()) {
      const auto* words = std::get_if<TextItem>(&item.what);
      if (words == nullptr || !(item.name.starts_with("facts") || item.name.starts_with("order"))) continue;
      EXPECT_FALSE(words->cut) << words->text;
      EXPECT_GE(words->style.size_pt, 10) << words->text;
    }
  }
  const std::string said = words_of(m.ticket);
  for (const char* part : {"Royal, cotton, heavy tee, long sleeves (46)", "below the collar", "(youth)",
                           "before noon.", "no curve, output at 120.0 % of its size"})
    EXPECT_THAT(said, HasSubstr(part));
  EXPECT_THAT(said, HasSubstr("Press ticket: Moth"));
  EXPECT_THAT(said, HasSubstr("Press ticket: Reef"));
  // The second print is as its plates are.
  EXPECT_EQ(said.find("output at", said.find("output at") + 1), std::string::npos);
  // On the proof, each print bears its own title.
  EXPECT_THAT(words_of(m.proof), HasSubstr("Front print, Moth: "));
  EXPECT_THAT(words_of(m.proof), HasSubstr("Back print, Reef: "));
  EXPECT_THAT(words_of(m.proof), HasSubstr("Moth, Reef\n"));
}

TEST_F(Ticket, ThirtyHeadsFit) {
  const Made m = made(read_order(
      scene("s", "white-cotton", {{"black", "black"}, {"red", "red"}}, 4, 4, "[press]\nheads = 30\n")));
  expect_laid_out(m.ticket);
  EXPECT_THAT(words_of(m.ticket), HasSubstr("3-30"));
}

}  // namespace
}  // namespace kirtle::test
