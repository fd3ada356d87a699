// Plates that are no plates, or do not belong together. All are refused before anything is computed.
#include "cmd/command_test.h"

#include <zlib.h>

namespace kirtle::test {
namespace {

namespace fs = std::filesystem;
using ::testing::AllOf;
using ::testing::HasSubstr;

class BadPlate : public CommandTest {
 protected:
  void SetUp() override { scene_ = small_scene(); }

  /// What predict says; it must write nothing, take little memory, and end before it is killed.
  std::string said() const {
    const std::size_t before = folder_.entries();
    RunSettings settings;
    // The program alone takes about 30 MiB of address space and 15 of memory.
    if (memory_can_be_limited()) settings.address_space_mib = 256;
    const ProgramRun run = run_kirtle({"predict", scene_, "-o", path("print.png")}, settings);
    EXPECT_EQ(run.status, 2) << run.err;
    EXPECT_EQ(run.out, "");
    EXPECT_EQ(folder_.entries(), before);
    EXPECT_LT(run.peak_mib, 200);
    return run.err;
  }
  std::vector<std::uint8_t> bytes(const std::string& name) const { return bytes_of(folder_ / name); }
  void put(const std::string& name, const std::vector<std::uint8_t>& b) const {
    write_bytes(folder_ / name, b);
  }

  /// base.png with other numbers in its header, its checksum made right.
  void lie_in_header(std::uint32_t width, std::uint32_t height) const {
    std::vector<std::uint8_t> b = bytes("base.png");
    for (int i = 0; i < 4; ++i) {
      b[16 + i] = static_cast<std::uint8_t>(width >> (24 - 8 * i));
      b[20 + i] = static_cast<std::uint8_t>(height >> (24 - 8 * i));
    }
    const auto sum = static_cast<std::uint32_t>(::crc32(::crc32(0, nullptr, 0), b.data() + 12, 17));
    for (int i = 0; i < 4; ++i) b[29 + i] = static_cast<std::uint8_t>(sum >> (24 - 8 * i));
    put("base.png", b);
  }

  std::string scene_;
};

TEST_F(BadPlate, Missing) {
  fs::remove(folder_ / "red.png");
  EXPECT_THAT(said(), AllOf(HasSubstr("scene.toml:14:8: error: there is no plate "), HasSubstr("red.png"),
                            HasSubstr("fix: ")));
}

TEST_F(BadPlate, Empty) {
  write("red.png", "");
  EXPECT_THAT(said(), AllOf(HasSubstr("red.png: error: the file is empty (0 bytes)"), HasSubstr("export")));
}

TEST_F(BadPlate, CutShortAnywhere) {
  const std::vector<std::uint8_t> whole = bytes("red.png");
  for (const std::size_t length :
       {std::size_t{4}, std::size_t{20}, std::size_t{40}, whole.size() / 2, whole.size() - 20}) {
    put("red.png", {whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(length)});
    EXPECT_THAT(said(), HasSubstr("red.png: error: ")) << length;
  }
}

TEST_F(BadPlate, WrongKind) {
  write("red.png", "this is no picture, whatever its name says\n");
  EXPECT_THAT(said(), AllOf(HasSubstr("red.png: error: "), HasSubstr("PNG"), HasSubstr("TIFF")));
  fs::remove(folder_ / "red.png");
  fs::create_directory(folder_ / "red.png");
  EXPECT_THAT(said(), HasSubstr("red.png"));
}

TEST_F(BadPlate, Colour) {
  make_png(folder_ / "red.png",
           {.width = 80, .height = 60, .colour = PNG_COLOR_TYPE_RGB, .per_unit_x = 3937, .per_unit_y = 3937},
           [](int x, int, int c) { return static_cast<unsigned>(c == 0 ? x : 0); });
  EXPECT_THAT(said(), AllOf(HasSubstr("red.png: error: "), HasSubstr("fix: ")));
}

TEST_F(BadPlate, NoPixels) {
  lie_in_header(0, 60);
  EXPECT_THAT(said(), HasSubstr("base.png: error: "));
  lie_in_header(80, 0);
  EXPECT_THAT(said(), HasSubstr("base.png: error: "));
}

TEST_F(BadPlate, HugeIsRefusedFromTheHeader) {
  lie_in_header(60000, 60000);
  EXPECT_THAT(said(),
              AllOf(HasSubstr("60000 x 60000 pixels"), HasSubstr("65000 a side and 400 million in all")));
  lie_in_header(0x7fffffff, 1);
  EXPECT_THAT(said(), HasSubstr("base.png: error: "));
  lie_in_header(65001, 60);
  EXPECT_THAT(said(), HasSubstr("65001 x 60 pixels"));
}

TEST_F(BadPlate, HugeTiffIsRefusedFromTheHeader) {
  const std::vector<TiffEntry> entries{{256, 4, {60000}}, {257, 4, {60000}}, {258, 3, {8}},
                                       {259, 3, {1}},     {262, 3, {1}},     {273, 4, {8}},
                                       {277, 3, {1}},     {278, 4, {60000}}, {279, 4, {3600000000U}}};
  put("base.tif", hand_made_tiff(entries, {1, 2, 3}));
  write("scene.toml", scene_text("black-cotton", {{"base", "base-white", "", "base.tif"}}));
  EXPECT_THAT(said(), AllOf(HasSubstr("base.tif: error: "), HasSubstr("60000 x 60000 pixels")));
}

// Within the limits, but the file cannot hold that much: refused before room is made for 400 million.
TEST_F(BadPlate, PromisesMoreThanItHolds) {
  lie_in_header(20000, 20000);
  EXPECT_THAT(said(), AllOf(HasSubstr("base.png: error: the file is damaged or cut short"),
                            HasSubstr("promises 20000 rows"), HasSubstr("fix: copy or export it again")));
}

TEST_F(BadPlate, SizesDisagree) {
  plate("red.png", 80, 61, 100, [](int, int) { return 0.5; });
  EXPECT_THAT(said(),
              AllOf(HasSubstr("red.png: error: plate \"red\" is 80 x 61 pixels, but plate \"base\" is "
                              "80 x 60; the plates of one set must have the same size"),
                    HasSubstr("fix: export all plates of the set")));
}

TEST_F(BadPlate, ResolutionsDisagree) {
  plate("red.png", 80, 60, 150, [](int, int) { return 0.5; });
  EXPECT_THAT(
      said(),
      AllOf(HasSubstr("plate \"red\" says 150 pixels per inch, but an earlier plate of the set says 100"),
            HasSubstr("write ppi = ... into the scene")));
}

TEST_F(BadPlate, NoResolutionAnywhere) {
  plate("base.png", 80, 60, 0, [](int, int) { return 0.5; });
  plate("red.png", 80, 60, 0, [](int, int) { return 0.5; });
  EXPECT_THAT(said(),
              AllOf(HasSubstr("scene.toml: error: no plate says its resolution, and the scene has no ppi"),
                    HasSubstr("write ppi = 300")));
}

// The scene's word counts, and one plate's word counts for those that say nothing.
TEST_F(BadPlate, AResolutionFromTheSceneOrOneOfThePlatesIsEnough) {
  plate("base.png", 80, 60, 0, [](int, int) { return 0.5; });
  EXPECT_EQ(run_kirtle({"predict", scene_, "-o", path("print.png")}).status, 0);
  EXPECT_EQ(decode_png(folder_ / "print.png").x_per_metre, 3937u);
  plate("red.png", 80, 60, 0, [](int, int) { return 0.5; });
  write("scene.toml", changed(scene_text("black-cotton", {{"base", "base-white"}, {"red", "red"}}),
                              "schema = 1", "schema = 1\nppi = 254"));
  EXPECT_EQ(run_kirtle({"predict", scene_, "-o", path("print.png")}).status, 0);
  EXPECT_EQ(decode_png(folder_ / "print.png").x_per_metre, 10000u);
}

TEST_F(BadPlate, EveryBadPlateIsNamedAtOnce) {
  write("base.png", "");
  write("red.png", "nothing");
  const std::string all = said();
  EXPECT_THAT(all, AllOf(HasSubstr("base.png: error: "), HasSubstr("red.png: error: ")));
  EXPECT_EQ(count_of(all, ": error: "), 2);
}

}  // namespace
}  // namespace kirtle::test
