// kirtle plates and kirtle scene new: sets as they arrive, through the program.
#include "cmd/command_test.h"

#include <map>

namespace kirtle::test {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;

constexpr int kWidth = 300, kHeight = 240;  // at 150 per inch: 50.8 x 40.64 mm

/// One print of three plates: white with a solid, red with a 50 % patch, and what shows the shirt's colour.
/// Outside the art (x 30..270, y 24..216) lie register marks, on the two that print.
double film(int plate, int x, int y) {
  const bool mark = x >= 8 && x < 16 && y >= 8 && y < 16;
  if (plate == 2) return 1;
  if (mark) return 1;
  if (plate == 0) return x >= 60 && x < 240 && y >= 60 && y < 180 ? 1 : 0;
  return x >= 100 && x < 200 && y >= 100 && y < 160 ? 0.5 : 0;
}
const std::vector<std::string> kNames{"base", "red", "shirt"};

class Intake : public CommandTest {
 protected:
  unsigned ink(int plate, int x, int y) const { return static_cast<unsigned>(255 * film(plate, x, y) + 0.5); }

  std::vector<std::string> greys(bool rgb) const {
    std::vector<std::string> files;
    for (int p = 0; p < 3; ++p) {
      PngSpec spec;
      spec.width = kWidth;
      spec.height = kHeight;
      spec.colour = rgb ? PNG_COLOR_TYPE_RGB : PNG_COLOR_TYPE_GRAY;
      spec.per_unit_x = spec.per_unit_y = 5906;
      const std::string name = kNames[static_cast<std::size_t>(p)] + (rgb ? "-rgb.png" : ".png");
      make_png(folder_ / name, spec, [&](int x, int y, int) { return 255 - ink(p, x, y); });
      files.push_back(path(name));
    }
    return files;
  }

  TiffSpec tiff_spec() const {
    TiffSpec spec;
    spec.width = kWidth;
    spec.height = kHeight;
    spec.x_res = spec.y_res = 150;
    spec.compression = COMPRESSION_LZW;
    return spec;
  }

  std::string spots() const {
    TiffSpec spec = tiff_spec();
    spec.samples = 4;
    spec.extras = {EXTRASAMPLE_UNSPECIFIED, EXTRASAMPLE_UNSPECIFIED, EXTRASAMPLE_UNSPECIFIED};
    make_tiff(folder_ / "spots.tif", spec, [&](int x, int y, int c) {
      return c == 0 ? 128U + static_cast<unsigned>(x) % 7 : 255 - ink(c - 1, x, y);
    });
    return path("spots.tif");
  }

  std::string separated() const {
    TiffSpec spec = tiff_spec();
    spec.samples = 3;
    spec.photometric = PHOTOMETRIC_SEPARATED;
    spec.ink_set = INKSET_MULTIINK;
    spec.number_of_inks = 3;
    spec.ink_names = std::string("base\0red\0shirt\0", 15);
    make_tiff(folder_ / "inks.tif", spec, [&](int x, int y, int c) { return ink(c, x, y); });
    return path("inks.tif");
  }

  /// Film per cent of each plate at a place, mm.
  std::map<std::string, double> film_at(const std::string& scene, const std::string& at) const {
    std::map<std::string, double> out;
    const nlohmann::json j = json_of({"probe", scene, "--at", at, "--json"});
    for (const nlohmann::json& p : j.at("plates")) out[p.at("plate")] = p.at("film_percent");
    return out;
  }
};

// The same print, four ways of saving it: identical plates, the patch reads 50 %, the shirt channel is asked
// about and does not print, marks outside the art box weigh nothing.
TEST_F(Intake, OneSetSavedFourWays) {
  std::vector<std::vector<std::string>> sets{greys(false), greys(true), {spots()}, {separated()}};
  std::vector<std::vector<std::uint16_t>> prints;
  for (std::size_t i = 0; i < sets.size(); ++i) {
    SCOPED_TRACE(sets[i].front());
    const std::string folder = "way" + std::to_string(i);
    std::vector<std::string> arguments{"scene", "new", path(folder)};
    arguments.insert(arguments.end(), sets[i].begin(), sets[i].end());
    arguments.insert(arguments.end(), {"--shirt", "black-cotton", "--box", "5.08,4.064,40.64,32.512"});
    if (i == 2) {
      // Spot samples have no names: the person names the inks of those that print.
      std::vector<std::string> names;
      const nlohmann::json listed = json_of({"plates", spots(), "--quick", "--json"});
      for (const nlohmann::json& p : listed.at("plates"))
        if (!p.at("preview")) names.push_back(p.at("name"));
      ASSERT_EQ(names.size(), 3u);
      arguments.insert(arguments.end(), {"--ink", names[0] + "=base-white," + names[1] + "=red"});
    }
    const ProgramRun run = run_kirtle(arguments);
    ASSERT_EQ(run.status, 0) << run.err;
    EXPECT_THAT(run.out,
                AllOf(HasSubstr("3 plates, 2 of them printing"), HasSubstr("covers 100 % of its area"),
                      HasSubstr("It does not"), HasSubstr("role = \"print\"")));
    const std::string scene = path(folder + "/scene.toml"), picture = path(folder + ".png");
    const ProgramRun predicted = run_kirtle({"predict", scene, "-o", picture});
    ASSERT_EQ(predicted.status, 0) << predicted.err;
    prints.push_back(decode_png(picture).samples);
    EXPECT_EQ(prints.back(), prints.front());
    for (const auto& [plate, percent] : film_at(scene, "2,2")) EXPECT_EQ(percent, 0) << plate;
    const std::map<std::string, double> patch = film_at(scene, "25.4,22");
    ASSERT_EQ(patch.size(), 2u) << "the shirt channel lays no ink";
    int tints = 0, solids = 0;
    for (const auto& [plate, percent] : patch) {
      tints += std::abs(percent - 50) <= 0.2;
      solids += percent == 100;
    }
    EXPECT_EQ(tints, 1);
    EXPECT_EQ(solids, 1);
  }
}

TEST_F(Intake, ANoticeThatIsTrueOfSeveralFilesIsSaidOnce) {
  std::vector<std::string> arguments{"plates"};
  for (const char* name : {"a.png", "b.png", "c.png", "profiled.png"}) {
    PngSpec spec{40, 30};
    spec.per_unit_x = spec.per_unit_y = 5905;  // 150 per inch, cut off to whole pixels per metre
    spec.gamma = true;
    spec.srgb = std::string(name) == "profiled.png";
    make_png(folder_ / name, spec, [](int x, int, int) { return x > 20 ? 0U : 255U; });
    arguments.push_back(path(name));
  }
  const ProgramRun run = run_kirtle(arguments);
  ASSERT_EQ(run.status, 0) << run.err;
  EXPECT_EQ(count_of(run.err, "note: plate values are read"), 2) << run.err;
  EXPECT_THAT(run.err,
              HasSubstr("a.png and 2 more: note: plate values are read as per cent on film; the gamma tag"));
  EXPECT_THAT(run.err, HasSubstr("profiled.png: note: "));
  EXPECT_EQ(count_of(run.out, "150 ppi"), 4) << run.out;
}

TEST_F(Intake, ACleanSetOfGreysPredictsWithoutEdits) {
  std::vector<std::string> arguments{"scene", "new", path("team")};
  for (const std::string name : {"Team_base", "Team_yellow", "Team_red", "Team_black"}) {
    plate(name + ".png", 90, 60, 150,
          [&](int x, int y) { return x > 20 && x < 60 && y > 10 && y < 50 ? 0.6 : 0.0; });
    arguments.push_back(path(name + ".png"));
  }
  const ProgramRun run = run_kirtle(arguments);
  ASSERT_EQ(run.status, 0) << run.err;
  EXPECT_EQ(run.err, "");
  EXPECT_THAT(run.out, AllOf(HasSubstr("base (base-white), yellow (lemon-yellow), red (red), black (black)"),
                             HasSubstr("flash after the base"), HasSubstr(" 1. "), Not(HasSubstr("border"))));
  const ProgramRun predicted = run_kirtle({"predict", path("team/scene.toml"), "-o", path("p.png")});
  EXPECT_EQ(predicted.status, 0) << predicted.err;
  EXPECT_EQ(predicted.err, "");
  const auto bytes = bytes_of(folder_ / "team/scene.toml");
  const std::string text(bytes.begin(), bytes.end());
  EXPECT_THAT(text, AllOf(HasSubstr("file = \"../Team_base.png\""), HasSubstr("# guessed: ")));
}

TEST_F(Intake, ASceneThatIsThereIsKept) {
  plate("red.png", 40, 30, 100, [](int x, int) { return x == 20 ? 1.0 : 0.0; });
  std::filesystem::create_directory(folder_ / "team");
  write("team/scene.toml", "mine");
  EXPECT_THAT(complaint({"scene", "new", path("team"), path("red.png")}),
              AllOf(HasSubstr("there is a scene already; it was left as it is"), HasSubstr("--replace")));
  EXPECT_EQ(bytes_of(folder_ / "team/scene.toml").size(), 4u);
  EXPECT_EQ(run_kirtle({"scene", "new", path("team"), path("red.png"), "--replace"}).status, 0);
  EXPECT_GT(bytes_of(folder_ / "team/scene.toml").size(), 100u);
}

TEST_F(Intake, SceneNewRefuses) {
  plate("red.png", 40, 30, 100, [](int x, int) { return x == 20 ? 1.0 : 0.0; });
  write("bad.png", "nothing");
  EXPECT_THAT(complaint({"scene", "new", path("s"), path("red.png"), path("bad.png"), path("none.tif")}),
              AllOf(HasSubstr("bad.png: error"), HasSubstr("none.tif: error")));
  EXPECT_FALSE(std::filesystem::exists(folder_ / "s")) << "nothing is written where anything is wrong";
  EXPECT_THAT(complaint({"scene", "new", path("s"), path("red.png"), "--shirt", "blak-cotton"}),
              HasSubstr("did you mean \"black-cotton\"?"));
  EXPECT_THAT(complaint({"scene", "new", path("s"), path("red.png"), "--ink", "red"}),
              HasSubstr("is not PLATE=INK"));
  EXPECT_THAT(complaint({"scene", "new", path("s"), path("red.png"), "--ink", "rod=red"}),
              HasSubstr("plates found: red"));
  for (const std::string box : {"1,2,3", "1,2,0,4", "1,2,x,4", "nan,0,1,1"})
    EXPECT_THAT(complaint({"scene", "new", path("s"), path("red.png"), "--box", box}),
                HasSubstr("--box is not"));
  EXPECT_EQ(run_kirtle({"scene", "new", path("s"), path("red.png"), "--ppi", "nan"}).status, 2);
  EXPECT_EQ(run_kirtle({"scene", "new", path("s"), path("red.png"), "--ink-is", "grey"}).status, 2);
  EXPECT_EQ(run_kirtle({"scene"}).status, 2);
  write("file", "");
  EXPECT_THAT(complaint({"scene", "new", path("file"), path("red.png")}), HasSubstr("cannot be made"));
}

TEST_F(Intake, PlatesListsSizesTonesAndDetail) {
  // A bar of 0.5 mm, a dot of 1 mm and a tint of 30 to 30 %, at 254 per inch: 10 pixels a mm.
  plate("detail.png", 200, 150, 254, [](int x, int y) {
    if (x >= 20 && x < 25 && y >= 20 && y < 120) return 1.0;
    if (std::hypot(x - 60.5, y - 60.5) < 5) return 1.0;
    return x >= 100 && x < 180 && y >= 20 && y < 120 ? 0.3 : 0.0;
  });
  const nlohmann::json j = json_of({"plates", path("detail.png"), "--json"});
  EXPECT_EQ(j.at("kirtle_plates"), 1);
  const nlohmann::json& p = j.at("plates").at(0);
  EXPECT_EQ(p.at("name"), "detail");
  EXPECT_EQ(p.at("width_px"), 200);
  EXPECT_NEAR(p.at("width_mm"), 20, 1e-6);
  EXPECT_EQ(p.at("ink_is"), "dark");
  EXPECT_EQ(p.at("ink_is_guessed"), true);
  const nlohmann::json& h = p.at("holds");
  EXPECT_NEAR(h.at("coverage_percent"), 100 * (500 + 80 + 0.3 * 8000) / 30000.0, 0.3);
  EXPECT_NEAR(h.at("thinnest_line").at("mm"), 0.5, 0.05);
  EXPECT_NEAR(h.at("smallest_dot").at("mm"), 1, 0.05);
  EXPECT_NEAR(h.at("lowest_tint_percent"), 30, 0.5);
  EXPECT_NEAR(h.at("highest_tint_percent"), 30, 0.5);
  const ProgramRun text = run_kirtle({"plates", path("detail.png")});
  EXPECT_THAT(text.out, AllOf(HasSubstr("20.0 x 15.0 mm (0.79 x 0.59 in), 254 ppi"),
                              HasSubstr("thinnest line 0.50 mm (1.4 pt)"), HasSubstr("tints 30 to 30 %"),
                              HasSubstr("guessed from its border")));
  EXPECT_THAT(run_kirtle({"plates", path("detail.png"), "--quick"}).out, Not(HasSubstr("ink (solid")));
}

TEST_F(Intake, BadFilesDoNotStopTheOthers) {
  plate("good.png", 40, 30, 100, [](int, int) { return 0.0; });
  write("bad.png", "nothing");
  const ProgramRun run = run_kirtle({"plates", path("bad.png"), path("good.png"), path("none.tif")});
  EXPECT_EQ(run.status, 2);
  EXPECT_THAT(run.out, AllOf(HasSubstr("good.png: 1 plate"), HasSubstr("no ink at all")));
  EXPECT_THAT(run.err, AllOf(HasSubstr("bad.png: error"), HasSubstr("none.tif: error")));
  const ProgramRun json = run_kirtle({"plates", path("bad.png"), path("good.png"), "--json"});
  EXPECT_EQ(json.status, 2);
  const nlohmann::json j = nlohmann::json::parse(json.out);
  EXPECT_EQ(j.at("plates").size(), 1u);
  EXPECT_EQ(j.at("faults").size(), 1u);
  EXPECT_EQ(run_kirtle({"plates"}).status, 2);
}

TEST_F(Intake, ResolutionIsAskedForNeverAssumed) {
  plate("red.png", 300, 150, 0, [](int x, int) { return x == 20 ? 1.0 : 0.0; });
  EXPECT_THAT(run_kirtle({"plates", path("red.png")}).out,
              AllOf(HasSubstr("size not known"), HasSubstr("--ppi N"), Not(HasSubstr("mm"))));
  EXPECT_THAT(run_kirtle({"plates", path("red.png"), "--ppi", "150"}).out, HasSubstr("50.8 x 25.4 mm"));
  ASSERT_EQ(run_kirtle({"scene", "new", path("s"), path("red.png")}).status, 0);
  const std::string scene = path("s/scene.toml");
  EXPECT_THAT(complaint({"predict", scene, "-o", path("p.png")}), HasSubstr("no plate says its resolution"));
  EXPECT_EQ(run_kirtle({"predict", scene, "-o", path("p.png"), "--ppi", "150"}).status, 0);
  EXPECT_EQ(run_kirtle({"predict", scene, "-o", path("p.png"), "--ppi", "9"}).status, 2);
}

TEST_F(Intake, SmallPicturesShowInkBlack) {
  plate("wide.png", 480, 120, 100, [](int x, int) { return x < 240 ? 1.0 : 0.0; });
  ASSERT_EQ(run_kirtle({"plates", path("wide.png"), "--pictures", path("thumbs"), "--ink-is", "dark"}).status,
            0);
  const DecodedPng p = decode_png(folder_ / "thumbs/wide.png");
  EXPECT_EQ(p.width, 240);
  EXPECT_EQ(p.height, 60);
  EXPECT_EQ(p.channels, 1);
  EXPECT_EQ(p.samples.front(), 0);
  EXPECT_EQ(p.samples.back(), 255);
  EXPECT_EQ(run_kirtle({"plates", path("wide.png"), "--pictures", path("wide.png")}).status, 2);
}

TEST_F(Intake, PolarityIsTheFormatsForInks) {
  const std::string scene =
      write("s.toml",
            "schema = 1\ntitle = \"t\"\nshirt = \"black-cotton\"\n[[plate]]\nname = \"red\"\n"
            "file = \"inks.tif\"\nsample = \"red\"\nink_is = \"dark\"\nink = \"red\"\n"
            "mesh = \"61-64\"\n");
  separated();
  EXPECT_THAT(
      complaint({"predict", scene, "-o", path("p.png")}),
      AllOf(HasSubstr("s.toml:4:"), HasSubstr("says itself what is ink"), HasSubstr("take ink_is out")));
  write(
      "s.toml",
      "schema = 1\ntitle = \"t\"\nshirt = \"black-cotton\"\n[[plate]]\nname = \"red\"\nfile = \"inks.tif\"\n"
      "sample = \"blue\"\nink = \"red\"\nmesh = \"61-64\"\n");
  EXPECT_THAT(
      complaint({"predict", scene, "-o", path("p.png")}),
      AllOf(HasSubstr("has no sample \"blue\""), HasSubstr("it holds 1 \"base\", 2 \"red\", 3 \"shirt\"")));
  write(
      "s.toml",
      "schema = 1\ntitle = \"t\"\nshirt = \"black-cotton\"\n[[plate]]\nname = \"red\"\nfile = \"inks.tif\"\n"
      "ink = \"red\"\nmesh = \"61-64\"\n");
  EXPECT_THAT(complaint({"predict", scene, "-o", path("p.png")}), HasSubstr("holds 3 plates"));
  write(
      "s.toml",
      "schema = 1\ntitle = \"t\"\nshirt = \"black-cotton\"\n[[plate]]\nname = \"red\"\nfile = \"inks.tif\"\n"
      "page = 2\nsample = 2\nink = \"red\"\nmesh = \"61-64\"\n");
  EXPECT_THAT(complaint({"predict", scene, "-o", path("p.png")}),
              HasSubstr("has no plate on page 2; it has 1 page"));
  write("s.toml",
        "schema = 1\ntitle = \"t\"\nshirt = \"black-cotton\"\n[art]\nbox = [100, 0, 10, 10]\n[[plate]]\n"
        "name = \"red\"\nfile = \"inks.tif\"\nsample = 2\nink = \"red\"\nmesh = \"61-64\"\n");
  EXPECT_THAT(complaint({"predict", scene, "-o", path("p.png")}),
              HasSubstr("art.box lies wholly outside the plates, which are 50.8 x 40.6 mm"));
}

}  // namespace
}  // namespace kirtle::test
