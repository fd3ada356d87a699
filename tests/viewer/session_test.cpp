// What the window knows and does, driven without a window.
#include "light/delta_e_2000.h"
#include "viewer/view_scene.h"

#include <gmock/gmock.h>

namespace kirtle::test {
namespace {

using ::testing::HasSubstr;

class SessionTest : public ::testing::Test {
 protected:
  void SetUp() override {
    session.open(scene.file);
    session.settle();
    ASSERT_TRUE(session.is_open());
  }
  Lab lab_at(double x, double y) {
    session.point_at(PointMm{x, y});
    session.settle();
    return session.reading() ? session.reading()->lab : Lab{-1, 0, 0};
  }
  ViewScene scene;
  Session session;
};

TEST_F(SessionTest, OpensAScene) {
  EXPECT_EQ(session.scene().title, "Two plates");
  EXPECT_EQ(session.plates(), 2u);
  EXPECT_TRUE(session.build()->lattice->whole());
  ASSERT_TRUE(session.pyramid());
  EXPECT_EQ(session.pyramid()->build, session.build());
  EXPECT_EQ(session.pyramid()->width, 60);
  EXPECT_FALSE(session.can_undo());
}

TEST_F(SessionTest, ABadFileLeavesTheOpenSceneAsItWas) {
  Edits e = session.edits();
  e.shirt = "navy-cotton";
  session.edit(e);
  session.settle();
  const auto build = session.build();
  session.open(scene.folder.write("bad.toml", "schema = 1\ntitle = \"x\"\nshirt = \"no-such-shirt\"\n"));
  session.settle();
  EXPECT_TRUE(says(session, Severity::error, "no-such-shirt"));
  session.open(scene.folder.path() / "missing.toml");
  session.settle();
  EXPECT_TRUE(says(session, Severity::error, "there is no such file"));
  EXPECT_EQ(session.build(), build);
  EXPECT_EQ(session.scene().shirt.id, "navy-cotton");
  EXPECT_TRUE(session.can_undo());
}

TEST_F(SessionTest, ADamagedPlateLeavesTheOpenSceneAsItWas) {
  scene.folder.write("cut.png", "\x89PNG\r\n\x1a\n no picture");
  std::string text = ViewScene::kText;
  text.replace(text.find("red.png"), 7, "cut.png");
  session.open(scene.folder.write("cut.toml", text));
  session.settle();
  EXPECT_TRUE(says(session, Severity::error, "cut.png"));
  EXPECT_EQ(session.scene().title, "Two plates");
}

TEST_F(SessionTest, AShirtSwapChangesTheClothAndUndoBringsItBack) {
  const Lab black = lab_at(1, 1);
  Edits e = session.edits();
  e.shirt = "white-cotton";
  session.edit(e);
  session.settle();
  EXPECT_GT(lab_at(1, 1).l, black.l + 50);
  session.undo();
  session.settle();
  EXPECT_NEAR(lab_at(1, 1).l, black.l, 1e-9);
  EXPECT_TRUE(session.can_redo());
  session.redo();
  session.settle();
  EXPECT_EQ(session.scene().shirt.id, "white-cotton");
  EXPECT_FALSE(session.can_redo());
}

TEST_F(SessionTest, ADragIsOneStepOfUndo) {
  session.begin_drag();
  for (int i = 1; i <= 20; ++i) {
    PlateEdit e = session.plate_edit(1);
    e.offset = RegisterOffset{{0.01 * i}, {0}, 0, 0, 0};
    session.edit_plate(1, e);
  }
  session.end_drag();
  EXPECT_DOUBLE_EQ(session.offsets()[1].dx.v, 0.2);
  session.undo();
  EXPECT_DOUBLE_EQ(session.offsets()[1].dx.v, 0);
  EXPECT_FALSE(session.can_undo());
}

TEST_F(SessionTest, WhatCannotBeIsRefusedWithAReason) {
  PlateEdit e;
  e.lpi = 4;
  session.edit_plate(1, e);
  EXPECT_TRUE(says(session, Severity::error, "line count of plate \"red\" is 4; it must be 5 to 200"));
  e = {};
  e.mesh = "no-mesh";
  session.edit_plate(1, e);
  EXPECT_TRUE(says(session, Severity::error, "no-mesh"));
  e = {};
  e.offset = RegisterOffset{{std::nan("")}, {0}, 0, 0, 0};
  session.edit_plate(1, e);
  EXPECT_TRUE(says(session, Severity::error, "set-up to the right"));
  EXPECT_TRUE(session.edits().empty());
}

TEST_F(SessionTest, HeadsUpDownAndAlone) {
  session.set_head(0, Head::up);
  EXPECT_FALSE(session.prints(0));
  EXPECT_TRUE(session.prints(1));
  session.only(0);
  EXPECT_TRUE(session.prints(0));
  EXPECT_FALSE(session.prints(1));
  session.only(0);
  EXPECT_FALSE(session.prints(0));  // its head is still up
}

TEST_F(SessionTest, AShirtOfTheRunLandsWhereThePressPutsIt) {
  session.show_shirt(7);
  session.settle();
  const std::vector<RegisterOffset> wanted = without_placement(session.register_run().offsets_of(7));
  ASSERT_EQ(session.offsets().size(), 2u);
  EXPECT_EQ(session.offsets()[0].dx, wanted[0].dx);
  EXPECT_EQ(session.offsets()[1].dy, wanted[1].dy);
  EXPECT_EQ(session.build()->plates()[1].cover.offset.dx, wanted[1].dx);  // sim draws it too
  session.show_shirt(0);
  EXPECT_EQ(session.offsets()[1].dx.v, 0);
}

TEST_F(SessionTest, TheAnimationStepsWithTime) {
  session.play(true);
  session.shirts_per_second = 4;
  for (int i = 0; i < 10; ++i) session.advance(0.1);
  EXPECT_EQ(session.shirt(), 4u);
  session.play(false);
  session.advance(10);
  EXPECT_EQ(session.shirt(), 4u);
}

TEST_F(SessionTest, APointIsReadAndPinned) {
  lab_at(10, 10);
  ASSERT_TRUE(session.reading());
  EXPECT_EQ(session.reading()->plates.size(), 2u);
  EXPECT_EQ(session.section().cloth_um, session.scene().shirt.thickness.v);
  EXPECT_GT(session.section().build_um, 10);
  session.pin();
  ASSERT_TRUE(session.pinned());
  EXPECT_NEAR(delta_e_2000(session.pinned()->lab, session.reading()->lab), 0, 1e-12);
  session.point_at(PointMm{-5, 3});
  EXPECT_FALSE(session.point());
  EXPECT_FALSE(session.reading());
}

TEST_F(SessionTest, ARunCanBeStoppedAndLeavesNoResult) {
  session.start_run(100000);
  EXPECT_TRUE(session.run_busy());
  session.cancel_run();
  session.settle();
  EXPECT_FALSE(session.run_busy());
  EXPECT_FALSE(session.run_result());
  session.start_run(40);
  session.settle();
  ASSERT_TRUE(session.run_result());
  EXPECT_EQ(session.run_result()->run.showing.shirts.size(), 40u);
  EXPECT_THAT(session.run_result()->sentence, HasSubstr("40 shirts"));
}

TEST_F(SessionTest, AgainstAnotherShirtAndAgainstTheFile) {
  session.set_against(Against::shirt, "navy-cotton");
  session.settle();
  ASSERT_TRUE(session.other_build());
  EXPECT_EQ(session.other_build()->scene->shirt.id, "navy-cotton");
  Edits e = session.edits();
  e.shirt = "white-cotton";
  session.edit(e);
  session.set_against(Against::file);
  session.settle();
  EXPECT_EQ(session.other_build()->scene->shirt.id, "black-cotton");
  EXPECT_EQ(session.build()->scene->shirt.id, "white-cotton");
}

TEST_F(SessionTest, ZoomKeepsThePlaceUnderThePointer) {
  View v{{10, 20}, 4};
  const PointMm before = v.at(37, -12);
  v.zoom(3, 37, -12);
  EXPECT_NEAR(v.at(37, -12).x, before.x, 1e-12);
  EXPECT_NEAR(v.at(37, -12).y, before.y, 1e-12);
  EXPECT_DOUBLE_EQ(v.px_per_mm, 12);
  v.zoom(1e9, 0, 0);
  EXPECT_DOUBLE_EQ(v.px_per_mm, kMostPxPerMm);
}

}  // namespace
}  // namespace kirtle::test
