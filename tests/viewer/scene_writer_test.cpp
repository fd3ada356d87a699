// Edits saved as a new scene: the old text with the keys changed; nothing half-written.
#include "job/read_scene.h"
#include "viewer/view_scene.h"

#include <fstream>
#include <gmock/gmock.h>
#include <iterator>

namespace kirtle::test {
namespace {

using ::testing::HasSubstr;

std::string text_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

class SceneWriterTest : public ::testing::Test {
 protected:
  void SetUp() override {
    session.open(scene.file);
    session.settle();
    ASSERT_TRUE(session.is_open());
  }
  ViewScene scene;
  Session session;
};

TEST_F(SceneWriterTest, WithoutEditsTheTextIsTheSame) {
  ASSERT_TRUE(session.save_as(scene.folder.path() / "copy.toml"));
  EXPECT_EQ(text_of(scene.folder.path() / "copy.toml"), ViewScene::kText);
}

TEST_F(SceneWriterTest, KeysChangeInPlaceAndNewOnesFollowTheHeader) {
  Edits e;
  e.shirt = "navy-cotton";
  e.light = "D65";
  PlateEdit red;
  red.mesh = "120-34";
  red.lpi = 50.5;
  red.spread_um = 30;
  red.offset = RegisterOffset{{0.1}, {-0.25}, 0.5, 0, 0};
  e.plates["red"] = red;
  session.edit(e);
  ASSERT_TRUE(session.save_as(scene.folder.path() / "new.toml"));
  const std::string text = text_of(scene.folder.path() / "new.toml");
  EXPECT_THAT(text, HasSubstr("# A comment that stays.\n"));
  EXPECT_THAT(text, HasSubstr("shirt = \"navy-cotton\"  # the first\n"));
  EXPECT_THAT(text, HasSubstr("mesh = \"120-34\"   # fine\n"));
  EXPECT_THAT(
      text,
      HasSubstr("[[plate]]\nink_spread_um = 30\noffset = [0.1, -0.25]\nturn_deg = 0.5\nname = \"red\"\n"));
  EXPECT_THAT(text, HasSubstr("\n[view]\nlight = \"D65\"\n"));
  const Scene read = read_scene(scene.folder.path() / "new.toml");
  EXPECT_EQ(read.shirt.id, "navy-cotton");
  EXPECT_EQ(read.passes[1].mesh.id, "120-34");
  EXPECT_EQ(read.passes[1].halftone.lpi, 50.5);
  EXPECT_EQ(read.passes[1].ink_spread->v, 30);
  EXPECT_EQ(read.passes[1].offset.dy.v, -0.25);
  EXPECT_EQ(read.passes[0].mesh.id, "61-64");
}

TEST_F(SceneWriterTest, AnotherFolderFindsThePlatesAndHidingBecomesARecord) {
  Edits e;
  e.plates["red"].hiding = 0.5;
  session.edit(e);
  std::filesystem::create_directories(scene.folder.path() / "sub");
  const std::filesystem::path target = scene.folder.path() / "sub" / "thin.toml";
  ASSERT_TRUE(session.save_as(target)) << session.messages().back().text;
  const Scene read = read_scene(target), old = read_scene(scene.file);
  EXPECT_EQ(read.passes[1].ink.id, "scarlet-x50");
  EXPECT_NEAR(read.passes[1].ink.optics.k[10], 0.5 * old.passes[1].ink.optics.k[10], 1e-9);
  EXPECT_EQ(read.passes[1].ink.gloss, old.passes[1].ink.gloss);
  EXPECT_TRUE(std::filesystem::equivalent(read.plates[0].file, old.plates[0].file));
  Session other;
  other.open(target);
  other.settle();
  EXPECT_TRUE(other.is_open());
}

// 50.1 and 50.4 per cent are both x50.
TEST_F(SceneWriterTest, TwoHidingsOfOneInkAreTwoRecords) {
  Edits e;
  e.plates["base"].ink = "scarlet";
  e.plates["base"].hiding = 0.501;
  e.plates["red"].hiding = 0.504;
  session.edit(e);
  const std::filesystem::path target = scene.folder.path() / "two.toml";
  ASSERT_TRUE(session.save_as(target)) << session.messages().back().text;
  const Scene read = read_scene(target), old = read_scene(scene.file);
  EXPECT_EQ(read.passes[0].ink.id, "scarlet-x50");
  EXPECT_EQ(read.passes[1].ink.id, "scarlet-x50-2");
  EXPECT_NEAR(read.passes[0].ink.optics.k[10], 0.501 * old.passes[1].ink.optics.k[10], 1e-9);
  EXPECT_NEAR(read.passes[1].ink.optics.k[10], 0.504 * old.passes[1].ink.optics.k[10], 1e-9);
}

TEST_F(SceneWriterTest, AnotherFolderFindsTheArtAndTheRecords) {
  write_grey_png(scene.folder.path() / "art.png", 120, 90, 100, std::vector<std::uint8_t>(120 * 90, 200));
  std::filesystem::create_directories(scene.folder.path() / "own" / "inks");
  session.open(scene.folder.write("arty.toml", "data = [\"own\"]\n" + std::string(ViewScene::kText) +
                                                   "\n[compare]\nart = \"art.png\"  # as drawn\n"));
  session.settle();
  ASSERT_TRUE(session.is_open());
  std::filesystem::create_directories(scene.folder.path() / "sub");
  const std::filesystem::path target = scene.folder.path() / "sub" / "moved.toml";
  ASSERT_TRUE(session.save_as(target)) << session.messages().back().text;
  EXPECT_THAT(text_of(target), HasSubstr("art = \"../art.png\"  # as drawn\n"));
  EXPECT_THAT(text_of(target), HasSubstr("data = [\"../own\"]\n"));
  const Scene read = read_scene(target);
  EXPECT_TRUE(std::filesystem::equivalent(read.compare.art, scene.folder.path() / "art.png"));
}

TEST_F(SceneWriterTest, APlateIsNotWrittenOver) {
  const std::string before = text_of(scene.folder.path() / "red.png");
  EXPECT_FALSE(session.save_as(scene.folder.path() / "red.png"));
  EXPECT_TRUE(says(session, Severity::error, "the scene is made from it"));
  EXPECT_EQ(text_of(scene.folder.path() / "red.png"), before);
}

TEST_F(SceneWriterTest, AFileThatCannotBeWrittenLeavesNothingBehind) {
  Edits e;
  e.shirt = "navy-cotton";
  session.edit(e);
  EXPECT_FALSE(session.save_as(scene.folder.path() / "no-folder" / "new.toml"));
  EXPECT_TRUE(says(session, Severity::error, "no-folder"));
  EXPECT_FALSE(std::filesystem::exists(scene.folder.path() / "no-folder"));
}

TEST_F(SceneWriterTest, AFileChangedMeanwhileIsNotWrittenOver) {
  Edits e;
  e.plates["red"].lpi = 50;
  e.plates["red"].hiding = 0.5;
  session.edit(e);
  std::string text = ViewScene::kText;
  text.replace(text.find("\"61-64\""), 7, "\"43-80\"");
  scene.folder.write("scene.toml", text);
  const std::size_t entries = scene.folder.entries();
  EXPECT_FALSE(session.save_as(scene.folder.path() / "scene.toml"));
  EXPECT_TRUE(says(session, Severity::error, "has changed since it was opened"));
  EXPECT_EQ(text_of(scene.file), text);
  EXPECT_EQ(scene.folder.entries(), entries) << "neither a trial nor a record is left";
}

TEST_F(SceneWriterTest, ATableWithinALineIsRefused) {
  std::string text = ViewScene::kText;
  text += "\n";
  text.insert(text.find("\n[press]"), "view = { observer = 10 }\n");
  session.open(scene.folder.write("inline.toml", text));
  session.settle();
  Edits e;
  e.light = "A";
  session.edit(e);
  EXPECT_FALSE(session.save_as(scene.folder.path() / "out.toml"));
  EXPECT_TRUE(says(session, Severity::error, "cannot be put in here"));
  EXPECT_FALSE(std::filesystem::exists(scene.folder.path() / "out.toml"));
}

}  // namespace
}  // namespace kirtle::test
