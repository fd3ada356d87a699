// Every record that comes with Kirtle reads clean and holds numbers that a material could have.
#include "job/files.h"
#include "job/library.h"

#include <algorithm>
#include <cstdlib>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using ::testing::IsEmpty;

class Inkdata : public ::testing::Test {
 protected:
  void SetUp() override {
    ::unsetenv("KIRTLE_DATA");
    library_.emplace(load_library({}, faults_));
  }
  std::vector<std::string> texts() const {
    std::vector<std::string> out;
    for (const Diagnostic& d : faults_.all()) out.push_back(to_string(d));
    return out;
  }
  Diagnostics faults_;
  std::optional<Library> library_;
};

double largest(const Spectrum& s) { return *std::max_element(s.v.begin(), s.v.end()); }
double smallest(const Spectrum& s) { return *std::min_element(s.v.begin(), s.v.end()); }

TEST_F(Inkdata, InksReadCleanAndAreOfAllKinds) {
  const std::vector<Ink> inks = library_->all_inks(faults_);
  EXPECT_THAT(texts(), IsEmpty());
  EXPECT_EQ(inks.size(), library_->ids("inks").size());
  const auto count = [&](auto is) { return std::count_if(inks.begin(), inks.end(), is); };
  EXPECT_GE(
      count([](const Ink& i) { return i.family == InkFamily::plastisol && i.effect == InkEffect::none; }),
      12);
  EXPECT_GE(count([](const Ink& i) { return i.family != InkFamily::plastisol; }), 8);
  EXPECT_GE(count([](const Ink& i) { return i.agent_g_cm3 > 0; }), 4);
  EXPECT_GE(count([](const Ink& i) { return i.effect != InkEffect::none; }), 1);
  EXPECT_GE(count([](const Ink& i) { return i.name.find("hite") != std::string::npos; }), 3);
  for (const Ink& ink : inks) {
    SCOPED_TRACE(ink.id);
    EXPECT_TRUE(ink.provenance.status == DataStatus::invented ||
                ink.provenance.status == DataStatus::estimated);
    EXPECT_FALSE(ink.provenance.source.empty());
    EXPECT_EQ(ink.flat_reflectance.has_value(), ink.effect != InkEffect::none);
    if (ink.flat_reflectance) continue;
    EXPECT_GE(smallest(ink.optics.k), 0);
    EXPECT_LT(largest(ink.optics.k), 2);
    EXPECT_GT(smallest(ink.optics.s), 0);
    EXPECT_LT(largest(ink.optics.s), 0.3);
    EXPECT_EQ(ink.agent_g_cm3 > 0, ink.family == InkFamily::discharge);
    if (ink.family == InkFamily::plastisol) {
      EXPECT_EQ(ink.solids_by_volume, 1);
      EXPECT_LE(ink.soak, 0.3);
    } else {
      EXPECT_LE(ink.solids_by_volume, 0.5);
      EXPECT_GE(ink.soak, 0.7);
      EXPECT_EQ(ink.gloss, 0);
    }
  }
}

TEST_F(Inkdata, ShirtsReadCleanAndAreOfAllKinds) {
  const std::vector<Cloth> shirts = library_->all_shirts(faults_);
  EXPECT_THAT(texts(), IsEmpty());
  EXPECT_EQ(shirts.size(), library_->ids("shirts").size());
  EXPECT_GE(shirts.size(), 16u);
  int blends = 0, polyester = 0;
  for (const Cloth& shirt : shirts) {
    SCOPED_TRACE(shirt.id);
    EXPECT_TRUE(shirt.provenance.status == DataStatus::invented ||
                shirt.provenance.status == DataStatus::estimated);
    EXPECT_THAT(shirt.provenance.assumed, IsEmpty()) << "the records of inkdata leave nothing to defaults";
    double share = 0, takes_agent = 0;
    for (const ClothFibre& fibre : shirt.fibres) {
      share += fibre.share;
      takes_agent += fibre.share * fibre.takes_agent;
      EXPECT_GT(smallest(fibre.fibre.s), 0.001);
      for (const Dye& dye : fibre.dyes) {
        EXPECT_LT(largest(dye.k_per_um), 1);
        EXPECT_LE(largest(dye.byproduct_k_per_um), 0.05 * largest(dye.k_per_um) + 0.05);
      }
    }
    EXPECT_NEAR(share, 1, 1e-12);
    blends += shirt.fibres.size() > 1;
    polyester += takes_agent == 0;
  }
  EXPECT_GE(blends, 3);
  EXPECT_GE(polyester, 1);
}

TEST_F(Inkdata, MeshesHaveOpeningsAndPlausibleFabric) {
  const std::vector<Mesh> meshes = library_->all_meshes(faults_);
  EXPECT_THAT(texts(), IsEmpty());
  EXPECT_GE(meshes.size(), 10u);
  for (const Mesh& mesh : meshes) {
    SCOPED_TRACE(mesh.id);
    const std::string id =
        std::to_string(std::lround(mesh.threads_per_cm)) + '-' + std::to_string(std::lround(mesh.thread.v));
    EXPECT_EQ(mesh.id, id);
    EXPECT_GT(1e4 / mesh.threads_per_cm, mesh.thread.v);
    // Two threads cross: the fabric is thicker than one and, flattened in weaving, thinner than two.
    EXPECT_GT(mesh.fabric_thickness.v, 1.4 * mesh.thread.v);
    EXPECT_LT(mesh.fabric_thickness.v, 1.7 * mesh.thread.v);
  }
}

// Pair sigmas: common practice, no source.
TEST_F(Inkdata, PressesHoldWhatShopsQuote) {
  const std::vector<PressPreset> presses = library_->all_presses(faults_);
  EXPECT_THAT(texts(), IsEmpty());
  const auto sigma = [&](const std::string& id) {
    const PressPreset* p = library_->press(id, {}, faults_);
    return p == nullptr ? -1.0 : p->pair_sigma.v;
  };
  EXPECT_EQ(sigma("kept-up-automatic"), 0.05);
  EXPECT_EQ(sigma("average-automatic"), 0.08);
  EXPECT_EQ(sigma("manual-micros"), 0.13);
  EXPECT_GE(sigma("worn-manual"), 0.25);
  for (const PressPreset& p : presses) {
    EXPECT_GE(p.heads, 4) << p.id;
    EXPECT_EQ(p.flash_takes_head, p.automatic) << p.id;
    EXPECT_GE(p.flashes, 1) << p.id;
    EXPECT_GE(p.pallets, 4) << p.id;
    EXPECT_LE(p.image_width.v, p.pallet_width.v) << p.id;
    EXPECT_LE(p.image_height.v, p.pallet_height.v) << p.id;
    EXPECT_GT(p.setup_sigma.v, 0) << p.id;
  }
}

TEST_F(Inkdata, EveryFibreAndDyeReadsClean) {
  for (const std::string& id : library_->ids("fibres"))
    EXPECT_NE(library_->fibre(id, {}, faults_), nullptr) << id;
  for (const std::string& id : library_->ids("dyes"))
    EXPECT_NE(library_->dye(id, {}, faults_), nullptr) << id;
  EXPECT_THAT(texts(), IsEmpty());
}

TEST_F(Inkdata, ListingIsSortedAndReadsNothing) {
  const std::vector<std::string> ids = library_->ids("inks");
  EXPECT_TRUE(std::is_sorted(ids.begin(), ids.end()));
  EXPECT_NE(std::find(ids.begin(), ids.end(), "base-white"), ids.end());
}

TEST(DataFolder, EnvironmentWinsAndAMissingOneIsReported) {
  ::setenv("KIRTLE_DATA", "/nowhere/inkdata", 1);
  EXPECT_EQ(default_data_folder(), "/nowhere/inkdata");
  Diagnostics faults;
  load_library({"/nowhere/mine"}, faults);
  ::unsetenv("KIRTLE_DATA");
  ASSERT_EQ(faults.all().size(), 2u);
  EXPECT_EQ(to_string(faults.all()[0]),
            "/nowhere/mine: error: there is no such folder of records\n  fix: name a folder that holds "
            "inks/, shirts/, meshes/ or "
            "presses/");
  EXPECT_EQ(to_string(faults.all()[1]),
            "/nowhere/inkdata: error: there is no such folder of records\n  fix: set KIRTLE_DATA to the "
            "folder inkdata that came with "
            "Kirtle");
  EXPECT_TRUE(std::filesystem::is_directory(default_data_folder()));
}

}  // namespace
}  // namespace kirtle
