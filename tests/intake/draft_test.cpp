// Drafts from surveys made up here: no file is read.
#include "intake/draft.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;

SurveyedPlate grey(const std::string& name, double coverage = 0.2, double border = 0) {
  SurveyedPlate p;
  p.entry.file = "art/" + name + ".png";
  p.entry.name = name;
  p.entry.width = 600;
  p.entry.height = 800;
  p.entry.ppi = p.ppi = 300;
  p.polarity_by = border <= 0.02 || border >= 0.98 ? PolarityBy::border : PolarityBy::nothing;
  p.border_ink = border;
  if (border >= 0.98) {
    p.polarity = Polarity::light_is_ink;
    p.border_ink = 1 - border;
    coverage = 1 - coverage;
  }
  p.holdings.emplace();
  p.holdings->coverage = coverage;
  return p;
}

class Draft : public testing::Test {
 protected:
  SceneDraft draft(const std::vector<SurveyedPlate>& plates, const DraftWishes& wishes = {}) {
    Survey survey;
    survey.plates = plates;
    return draft_scene(survey, wishes, library_, "t");
  }
  std::string refused(const std::vector<SurveyedPlate>& plates, const DraftWishes& wishes = {}) {
    try {
      draft(plates, wishes);
    } catch (const InputError& e) {
      return e.what();
    }
    return "not refused";
  }
  static std::vector<std::string> order(const SceneDraft& d) {
    std::vector<std::string> out;
    for (const DraftPlate& p : d.plates)
      out.push_back(p.name + (p.role == PlateRole::print ? " " + p.ink : ""));
    return out;
  }
  static std::string asked(const SceneDraft& d) {
    std::string out;
    for (const DraftQuestion& q : d.questions) out += q.ask + " -> " + q.change + "\n";
    return out;
  }
  Library library_{{KIRTLE_SOURCE_DIR "/inkdata"}};
};

TEST_F(Draft, BaseFirstLightBeforeDarkHighlightLast) {
  const SceneDraft d =
      draft({grey("black"), grey("highlight"), grey("red"), grey("yellow"), grey("base"), grey("navy")});
  EXPECT_THAT(order(d), ElementsAre("base base-white", "yellow lemon-yellow", "red red", "navy navy",
                                    "black black", "highlight highlight-white"));
  EXPECT_TRUE(d.plates[0].flash);
  for (std::size_t i = 1; i < d.plates.size(); ++i) EXPECT_FALSE(d.plates[i].flash);
  EXPECT_EQ(d.plates[0].mesh, "61-64");
  EXPECT_EQ(d.shirt, "black-cotton");
  EXPECT_THAT(asked(d), HasSubstr("Which shirt does it print on?"));
  EXPECT_THAT(asked(d), HasSubstr("gain curve"));
  EXPECT_THAT(asked(d), HasSubstr("\"yellow\" as lemon-yellow"));
  EXPECT_THAT(asked(d), Not(HasSubstr("\"red\" as red")));
}

TEST_F(Draft, NamesLoseWhatTheyAllStartWith) {
  const SceneDraft d = draft({grey("Team shirt_base"), grey("Team shirt_red")});
  EXPECT_THAT(order(d), ElementsAre("base base-white", "red red"));
}

TEST_F(Draft, FullCoverIsAskedAboutAndDoesNotPrint) {
  const SceneDraft d = draft({grey("red"), grey("plate 2", 0.72), grey("blue", 0.1), grey("shirt", 0.05)});
  EXPECT_THAT(order(d), ElementsAre("red red", "blue royal-blue", "plate 2", "shirt"));
  EXPECT_EQ(d.plates[2].role, PlateRole::shirt);
  EXPECT_EQ(d.plates[3].role, PlateRole::shirt);
  EXPECT_THAT(asked(d),
              HasSubstr("\"plate 2\" covers 72 % of its area. Does it only show the shirt's colour, or is it "
                        "a plate that prints? It does not print until you say so. -> role = \"print\""));
  EXPECT_THAT(asked(d), HasSubstr("\"shirt\" covers 5 % of its area."));
  DraftWishes wishes;
  wishes.inks = {{"plate 2", "tan"}};
  EXPECT_THAT(order(draft({grey("red"), grey("plate 2", 0.72)}, wishes)),
              ElementsAre("plate 2 tan", "red red"))
      << "an ink named for it says that it prints";
}

TEST_F(Draft, OneBlackBorderAmongPaperOnesIsAFullPlate) {
  const SceneDraft d = draft({grey("red"), grey("blue"), grey("cream", 0.97, 1)});
  for (const DraftPlate& p : d.plates) EXPECT_EQ(p.polarity, Polarity::dark_is_ink);
  EXPECT_EQ(d.plates[2].name, "cream");
  EXPECT_EQ(d.plates[2].role, PlateRole::shirt);
  EXPECT_NEAR(d.plates[2].coverage, 0.97, 1e-12);
}

TEST_F(Draft, BlackBordersMeanThatLightPrintsAndAreAskedAbout) {
  const SceneDraft d = draft({grey("red", 0.9, 1), grey("blue", 0.8, 1)});
  for (const DraftPlate& p : d.plates) {
    EXPECT_EQ(p.polarity, Polarity::light_is_ink);
    EXPECT_EQ(p.role, PlateRole::print);
  }
  EXPECT_THAT(asked(d), HasSubstr("Does white print on the greys?"));
  EXPECT_THAT(asked(draft({grey("red", 0.4, 0.3)})), HasSubstr("Does black print on the greys?"));
  EXPECT_THAT(asked(draft({grey("red", 0.4, 0.3), grey("blue")})), HasSubstr("Does black print on red?"));
  EXPECT_THAT(asked(draft({grey("red")})), Not(HasSubstr("black print")));
}

TEST_F(Draft, WhiteAloneIsBaseOrHighlight) {
  EXPECT_THAT(order(draft({grey("red"), grey("white")})), ElementsAre("white base-white", "red red"));
  const SceneDraft d = draft({grey("white"), grey("base"), grey("red")});
  EXPECT_THAT(order(d), ElementsAre("base base-white", "red red", "white highlight-white"));
  EXPECT_THAT(asked(d), HasSubstr("\"white\": does it print last, as a highlight"));
}

TEST_F(Draft, UnknownNameIsAskedAbout) {
  const SceneDraft d = draft({grey("layer 7")});
  EXPECT_THAT(order(d), ElementsAre("layer 7 black"));
  EXPECT_EQ(d.shirt, "white-cotton");
  EXPECT_THAT(asked(d),
              HasSubstr("Which ink is \"layer 7\"? Its name does not tell; black stands in. -> ink = ... in "
                        "[[plate]] \"layer 7\""));
}

TEST_F(Draft, MissingResolutionIsAskedFor) {
  SurveyedPlate p = grey("red");
  p.entry.ppi = p.ppi = 0;
  const SceneDraft d = draft({p});
  EXPECT_TRUE(d.ppi_missing);
  EXPECT_THAT(asked(d), HasSubstr("How large does this print? No file says its resolution"));
  EXPECT_THAT(scene_text(d, "."), HasSubstr("\n# ppi = 300"));
  DraftWishes wishes;
  wishes.ppi = 240;
  EXPECT_THAT(scene_text(draft({p}, wishes), "."), HasSubstr("\nppi = 240\n"));
}

TEST_F(Draft, SampleAndPageAreWrittenWhereNeeded) {
  SurveyedPlate a = grey("white"), b = grey("red");
  for (SurveyedPlate* p : {&a, &b}) {
    p->entry.file = "art/set \"1\".tif";
    p->entry.kind = SampleKind::separated;
    p->entry.name_in_file = true;
    p->polarity_by = PolarityBy::format;
    p->in_file = 2;
  }
  b.entry.sample = 1;
  b.entry.page = 2;
  b.entry.name_in_file = false;
  const std::string text = scene_text(draft({a, b}), "jobs/team");
  EXPECT_THAT(text,
              HasSubstr("file = \"../../art/set \\\"1\\\".tif\"\nsample = \"white\"\nink = \"base-white\""));
  EXPECT_THAT(text, HasSubstr("page = 3\nsample = 2\nink = \"red\""));
  EXPECT_THAT(text, Not(HasSubstr("ink_is")));
}

TEST_F(Draft, Refusals) {
  SurveyedPlate small = grey("red");
  small.entry.width = 10;
  EXPECT_THAT(refused({grey("blue"), small}),
              HasSubstr("plate \"red\" is 10 x 800 pixels, but plate \"blue\" is 600 x 800"));
  SurveyedPlate coarse = grey("red");
  coarse.entry.ppi = 150;
  EXPECT_THAT(refused({grey("blue"), coarse}), HasSubstr("plate \"red\" says 150 pixels per inch"));
  EXPECT_THAT(refused({}), HasSubstr("no file holds a plate"));
  EXPECT_THAT(refused(std::vector<SurveyedPlate>(13, grey("red"))),
              HasSubstr("the files hold 13 plates; a scene has 1 to 12"));
  DraftWishes wishes;
  wishes.shirt = "black-coton";
  wishes.press = "nosuch";
  wishes.inks = {{"green", "kelly-green"}, {"red", "rad"}};
  const std::string all = refused({grey("red")}, wishes);
  EXPECT_THAT(
      all,
      HasSubstr("--ink names the plate \"green\", which is not among the files\n  fix: plates found: red"));
  EXPECT_THAT(all, HasSubstr("did you mean \"black-cotton\"?"));
  EXPECT_THAT(all, HasSubstr("there is no press \"nosuch\""));
  EXPECT_THAT(all, HasSubstr("there is no ink \"rad\""));
}

TEST_F(Draft, TwelveAreEnoughAndNamesAreMadeDifferent) {
  const SceneDraft d = draft(std::vector<SurveyedPlate>(12, grey("a=b,c")));
  ASSERT_EQ(d.plates.size(), 12u);
  EXPECT_EQ(d.plates[0].name, "a b c");
  EXPECT_EQ(d.plates[11].name, "a b c 12");
}

}  // namespace
}  // namespace kirtle
