// Scenes and records with faults: status 2, file, line and column, what was found, what is allowed, a remedy.
#include "cmd/command_test.h"

namespace kirtle::test {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::MatchesRegex;
using ::testing::Not;

class BadScene : public CommandTest {
 protected:
  void SetUp() override {
    small_scene();
    std::ifstream in(folder_ / "scene.toml");
    good_.assign(std::istreambuf_iterator<char>(in), {});
  }

  /// What predict says of this scene; it must write nothing.
  std::string said_of(const std::string& text) const {
    write("scene.toml", text);
    const std::size_t before = folder_.entries();
    std::string said = complaint({"predict", path("scene.toml"), "-o", path("print.png")});
    EXPECT_EQ(folder_.entries(), before);
    // probe reads scenes the same way
    EXPECT_EQ(complaint({"probe", path("scene.toml"), "--film", "base=0"}), said);
    return said;
  }
  std::string said_with(const std::string& from, const std::string& to) const {
    return said_of(changed(good_, from, to));
  }

  /// A good ink record of one's own, with a change, named by the scene.
  std::string said_of_ink(const std::string& from, const std::string& to) const {
    std::filesystem::create_directories(folder_ / "mine/inks");
    const std::string record =
        "schema = 1\nid = \"mine\"\nname = \"Mine\"\nfamily = \"plastisol\"\n\n[provenance]\nstatus = "
        "\"invented\"\nsource = \"a test\"\n\n[optics]\nwavelength_nm = [400, 500, 600, 700]\nK_per_um = "
        "[0.210, 0.260, 0.011, 0.006]\nS_per_um = [0.034, 0.030, 0.046, 0.040]\n";
    write("mine/inks/mine.toml", changed(record, from, to));
    std::string scene = changed(good_, "ink = \"red\"", "ink = \"mine\"");
    return said_of(changed(scene, "schema = 1\n", "schema = 1\ndata = [\"mine\"]\n"));
  }

  std::string good_;
};

TEST_F(BadScene, MissingEmptyFolderOrNotText) {
  EXPECT_THAT(complaint({"predict", path("no.toml"), "-o", path("print.png")}),
              AllOf(HasSubstr("no.toml: error: there is no such file"), HasSubstr("fix: ")));
  EXPECT_THAT(complaint({"predict", folder_.path().string(), "-o", path("print.png")}), HasSubstr("error: "));
  EXPECT_THAT(said_of(""), AllOf(HasSubstr("schema"), HasSubstr("title"), HasSubstr("shirt")));
  EXPECT_THAT(said_of("schema = = 1\n"), HasSubstr("scene.toml:1:"));
  EXPECT_THAT(said_of(std::string("\0\1\2\xff", 4)), HasSubstr("scene.toml"));
  EXPECT_THAT(said_of(std::string(2 << 20, '#')), HasSubstr("scene.toml"));
}

// One run tells all: an unknown key, a wrong type, an unknown ink, a number out of range, a missing plate.
TEST_F(BadScene, FiveFaultsAtOnce) {
  std::string text = changed(good_, "title = \"test\"", "title = \"test\"\ntilte = \"twice\"");
  text = changed(text, "shirt = \"black-cotton\"", "shirt = 7");
  text = changed(text, "ink = \"base-white\"", "ink = \"bsae-white\"");
  text = changed(text, "flash = true", "flash = true\nstrokes = 9");
  text = changed(text, "file = \"red.png\"", "file = \"rde.png\"");
  const std::string said = said_of(text);
  EXPECT_EQ(count_of(said, ": error: "), 5) << said;
  EXPECT_EQ(count_of(said, "scene.toml:"), 5) << said;
  EXPECT_THAT(said, AllOf(HasSubstr("tilte"), HasSubstr("shirt"), HasSubstr("bsae-white"),
                          HasSubstr("strokes"), HasSubstr("rde.png")));
}

TEST_F(BadScene, UnknownKeySuggestsTheNearest) {
  EXPECT_THAT(
      said_with("flash = true", "flahs = true"),
      AllOf(HasSubstr("scene.toml:11:1: error: "), HasSubstr("flahs"), HasSubstr("did you mean \"flash\"?")));
}

TEST_F(BadScene, UnknownInkMeshPressLightSuggestTheNearest) {
  EXPECT_THAT(said_with("\"base-white\"", "\"bace-white\""),
              AllOf(HasSubstr("scene.toml:9:7: error: there is no ink \"bace-white\""),
                    HasSubstr("did you mean \"base-white\"?")));
  EXPECT_THAT(said_with("\"61-64\"", "\"61-65\""), AllOf(HasSubstr("61-65"), HasSubstr("61-64")));
  EXPECT_THAT(said_with("[[plate]]", "[press]\npreset = \"avarage-automatic\"\n[[plate]]"),
              HasSubstr("did you mean \"average-automatic\"?"));
  EXPECT_THAT(said_with("[[plate]]", "[view]\nlight = \"D55\"\n[[plate]]"),
              AllOf(HasSubstr("D55"), HasSubstr("D50, D65")));
}

TEST_F(BadScene, NumbersOutOfRangeNanInfinite) {
  for (const std::string value : {"0", "-45", "nan", "inf", "-inf", "1e308", "2001"}) {
    EXPECT_THAT(said_with("flash = true", "wet_deposit_um = " + value),
                AllOf(HasSubstr("scene.toml:11:18: error: "), HasSubstr("wet_deposit_um"),
                      HasSubstr("> 0 and at most 2000")))
        << value;
  }
  EXPECT_THAT(said_with("flash = true", "transfer = 1.01"),
              AllOf(HasSubstr("transfer"), HasSubstr("0.3..1")));
  EXPECT_THAT(said_with("flash = true", "offset = [nan, 0]"), HasSubstr("offset"));
  EXPECT_THAT(said_with("flash = true", "lpi = 0"), HasSubstr("5..200"));
  EXPECT_THAT(said_with("[[plate]]", "ppi = nan\n[[plate]]"), AllOf(HasSubstr("ppi"), HasSubstr("10..5000")));
  EXPECT_THAT(said_with("[[plate]]", "[model]\nyule_nielsen_n = 0.5\n[[plate]]"), HasSubstr("1..10"));
}

TEST_F(BadScene, NegativeKInAnInk) {
  EXPECT_THAT(said_of_ink("0.260", "-0.011"),
              AllOf(HasSubstr("mine/inks/mine.toml:12:20: error: "), HasSubstr("K_per_um"),
                    HasSubstr("-0.011"), HasSubstr("500 nm"), HasSubstr(">= 0"), HasSubstr("fix: ")));
}

TEST_F(BadScene, OtherFaultsOfAnInk) {
  EXPECT_THAT(said_of_ink("0.260", "nan"), AllOf(HasSubstr("mine.toml:12:20"), HasSubstr("nan")));
  EXPECT_THAT(said_of_ink("0.260", "\"much\""), AllOf(HasSubstr("mine.toml:12:20"), HasSubstr("much")));
  EXPECT_THAT(said_of_ink("0.260, ", ""), AllOf(HasSubstr("K_per_um"), HasSubstr("3")));
  EXPECT_THAT(said_of_ink("400, 500", "500, 400"), HasSubstr("wavelength_nm"));
  EXPECT_THAT(said_of_ink("id = \"mine\"", "id = \"yours\""), HasSubstr("mine.toml"));
  EXPECT_THAT(said_of_ink("family = \"plastisol\"", "family = \"plastisoll\""), HasSubstr("plastisol"));
  EXPECT_THAT(said_of_ink("source = \"a test\"", "source = \"\""), HasSubstr("source"));
}

TEST_F(BadScene, NoPlateAndThirteenPlates) {
  EXPECT_THAT(said_of("schema = 1\ntitle = \"t\"\nshirt = \"black-cotton\"\n"),
              AllOf(HasSubstr("plate"), HasSubstr("fix: ")));
  std::vector<PlateText> plates;
  for (int i = 0; i < 13; ++i) plates.push_back({"p" + std::to_string(i), "red", "", "red.png"});
  EXPECT_THAT(said_of(scene_text("black-cotton", plates)),
              AllOf(HasSubstr("13"), HasSubstr("12"), HasSubstr("plate")));
}

// Twelve is still allowed, all on the same spot.
TEST_F(BadScene, TwelvePlatesPrint) {
  std::vector<PlateText> plates;
  for (int i = 0; i < 12; ++i) plates.push_back({"p" + std::to_string(i), "red", "", "red.png"});
  write("twelve.toml", scene_text("black-cotton", plates));
  const ProgramRun run = run_kirtle({"predict", path("twelve.toml"), "-o", path("print.png")});
  EXPECT_EQ(run.status, 0) << run.err;
  EXPECT_EQ(decode_png(folder_ / "print.png").trouble, "");
}

TEST_F(BadScene, PassOfAnUnknownPlate) {
  const std::string text =
      "schema = 1\ntitle = \"t\"\nshirt = \"black-cotton\"\n[[plate]]\nname = \"base\"\nfile = \"base.png\"\n"
      "ink_is = \"dark\"\n[[pass]]\nplate = \"bace\"\nink = \"red\"\nmesh = \"61-64\"\n";
  EXPECT_THAT(said_of(text), AllOf(HasSubstr("scene.toml:9:9"), HasSubstr("bace"), HasSubstr("base")));
}

TEST_F(BadScene, SaysUntrustedTextSafely) {
  EXPECT_THAT(said_with("ink = \"red\"", "ink = \"x\\u001b[31m\""), Not(HasSubstr("\x1b")));
}

// Warnings do not stop a print, and go to standard error.
TEST_F(BadScene, AWarningIsNoError) {
  write("scene.toml", changed(changed(good_, "black-cotton", "black-polyester"), "ink = \"red\"",
                              "ink = \"discharge-red\""));
  const ProgramRun run = run_kirtle({"probe", path("scene.toml"), "--film", "base=100", "--json"});
  EXPECT_EQ(run.status, 0);
  EXPECT_THAT(run.err, AllOf(HasSubstr("warning: "), HasSubstr("graded 1 of 5"), HasSubstr("test-print")));
  EXPECT_EQ(nlohmann::json::parse(run.out).at("kirtle_probe"), 1);
}

}  // namespace
}  // namespace kirtle::test
