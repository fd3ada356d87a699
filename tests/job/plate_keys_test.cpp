// Which plate of a file, what it is for, and the art box.
#include "job/scene_fixture.h"

#include <gmock/gmock.h>

namespace kirtle {
namespace {

using test::kPass;
using test::kPlate;
using test::kTop;
using testing::ElementsAre;
using testing::HasSubstr;

const std::string kTiff = "[[plate]]\nname = \"one\"\nfile = \"set.tif\"\n";

class PlateKeys : public test::Scenes {
 protected:
  void SetUp() override {
    Scenes::SetUp();
    folder_.write("set.tif", "not looked into here");
  }
};

TEST_F(PlateKeys, SamplePageRoleAndBox) {
  const Scene s =
      read(kTop + "[art]\nbox = [\"1 in\", 10, \"20 cm\", 250.5]\n" + kTiff +
           "sample = \"Cool white\"\npage = 3\n[[plate]]\nname = \"two\"\nfile = \"set.tif\"\nsample = 4\n"
           "role = \"ignore\"\n" +
           kPass);
  ASSERT_TRUE(s.art_box.has_value());
  EXPECT_DOUBLE_EQ(s.art_box->x.v, 25.4);
  EXPECT_DOUBLE_EQ(s.art_box->y.v, 10);
  EXPECT_DOUBLE_EQ(s.art_box->width.v, 200);
  EXPECT_DOUBLE_EQ(s.art_box->height.v, 250.5);
  ASSERT_EQ(s.plates.size(), 2u);
  EXPECT_EQ(s.plates[0].sample, "Cool white");
  EXPECT_EQ(s.plates[0].page, 3);
  EXPECT_FALSE(s.plates[0].polarity.has_value());
  EXPECT_EQ(s.plates[0].role, PlateRole::print);
  EXPECT_EQ(s.plates[1].sample_number, 4);
  EXPECT_EQ(s.plates[1].role, PlateRole::ignore);
  EXPECT_TRUE(s.notes.empty()) << "a plate that is ignored needs no pass";
}

TEST_F(PlateKeys, ShirtAndIgnoreLayNoInk) {
  // In both forms; the passes they have are read, so that a slip in them is found, and left out.
  const Scene longer = read(kTop + kTiff + "role = \"shirt\"\n" +
                            "[[plate]]\nname = \"two\"\nfile = \"b.png\"\nink_is = \"dark\"\n" + kPass +
                            "[[pass]]\nplate = \"two\"\nink = \"red\"\nmesh = \"90-48\"\n");
  ASSERT_EQ(longer.passes.size(), 1u);
  EXPECT_EQ(longer.passes[0].plate, 1);
  ASSERT_EQ(longer.notes.size(), 1u);
  EXPECT_EQ(longer.notes[0].message, "plate \"one\" has the role \"shirt\": its pass is left out");
  const Scene shorter =
      read(kTop + kTiff +
           "role = \"shirt\"\n[[plate]]\nname = \"off\"\nfile = \"a.png\"\nrole = \"ignore\"\nink = \"red\"\n"
           "mesh = \"90-48\"\n[[plate]]\nname = \"two\"\nfile = \"b.png\"\nink_is = \"dark\"\nink = "
           "\"red\"\nmesh = \"90-48\"\n");
  ASSERT_EQ(shorter.passes.size(), 1u);
  EXPECT_EQ(shorter.passes[0].plate, 2);
  EXPECT_EQ(shorter.notes.size(), 1u);
  EXPECT_THAT(faults(kTop + kTiff + "role = \"shirt\"\n"),
              ElementsAre("1:1 no plate of the scene prints | give one of them role = \"print\" and a pass"));
}

TEST_F(PlateKeys, BadValues) {
  EXPECT_THAT(
      faults(kTop + kTiff + "sample = 0\npage = 65\nrole = \"cloth\"\n" + kPass),
      ElementsAre(
          HasSubstr("7:10 plate[1].sample is 0; it must be the name of an ink in the file, or a "
                    "number from 1 to 32 | kirtle plates FILE"),
          "8:8 plate[1].page is 65; it must be a whole number, 1..64",
          HasSubstr("9:8 plate[1].role is \"cloth\"; it must be one of \"print\", \"shirt\", \"ignore\"")));
  EXPECT_THAT(faults(kTop + kTiff + "sample = \"\"\n" + kPass),
              ElementsAre(HasSubstr("7:10 plate[1].sample is \"\"")));
  EXPECT_THAT(
      faults(kTop + "[art]\nbox = [1, 2, 3]\n" + kPlate + kPass),
      ElementsAre(HasSubstr("art.box is a list of 3; it must be a list of 4 lengths: x, y, width, height")));
  EXPECT_THAT(faults(kTop + "[art]\nbox = [1, 2, 0, \"3 parsec\"]\n" + kPlate + kPass),
              ElementsAre(HasSubstr("art.box[2] is 0"), HasSubstr("art.box[3] is \"3 parsec\"")));
  EXPECT_THAT(faults(kTop + "[art]\n" + kPlate + kPass), ElementsAre(HasSubstr("\"art.box\" is missing")));
}

TEST_F(PlateKeys, OnlyAPngIsSurelyGrey) {
  EXPECT_THAT(faults(kTop + "[[plate]]\nname = \"one\"\nfile = \"a.png\"\n" + kPass),
              ElementsAre(HasSubstr("\"plate[1].ink_is\" is missing")));
  EXPECT_TRUE(faults(kTop + kTiff + kPass).empty()) << "what is in a TIFF is seen when it is read";
  SceneOptions options;
  options.ppi = 240;
  EXPECT_EQ(read(kTop + "ppi = 300\n" + kTiff + kPass, options).ppi, 240);
}

}  // namespace
}  // namespace kirtle
