// Faults of record files, word for word, and the ways to give an ink or a shirt.
#include "job/files.h"
#include "job/library.h"
#include "layer/inverse.h"
#include "layer/kubelka_munk.h"
#include "light/srgb.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using test::lines_of;
using test::TempFolder;
using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

const std::string kProvenance = "[provenance]\nstatus = \"measured\"\nsource = \"test\"\n";
const std::string kGrey =
    "[optics]\nwavelength_nm = [400, 700]\nK_per_um = [0.1, 0.1]\nS_per_um = [0.02, 0.02]\n";

std::string head(const std::string& id) { return "schema = 1\nid = \"" + id + "\"\nname = \"" + id + "\"\n"; }
std::string ink_text(const std::string& id, const std::string& rest, const std::string& keys = "") {
  return head(id) + "family = \"plastisol\"\n" + keys + kProvenance + rest;
}

class Records : public ::testing::Test {
 protected:
  const Ink* ink(const std::string& id) { return library().ink(id, {"asked.toml", 7, 8}, faults_); }
  const Cloth* shirt(const std::string& id) { return library().shirt(id, {"asked.toml", 7, 8}, faults_); }
  Library& library() {
    if (!library_) library_.emplace(std::vector<std::filesystem::path>{folder_.path()});
    return *library_;
  }
  std::vector<std::string> lines() { return lines_of(faults_, folder_); }
  const TempFolder folder_;
  std::optional<Library> library_;
  Diagnostics faults_;
};

TEST_F(Records, OpticsAreTakenAsGiven) {
  folder_.write("inks/grey.toml", ink_text("grey", kGrey, "soak = 0.2\nink_spread_um = \"0.05 mm\"\n"));
  const Ink* found = ink("grey");
  ASSERT_NE(found, nullptr) << (lines().empty() ? "" : lines()[0]);
  EXPECT_EQ(found->optics.k, Spectrum::flat(0.1));
  EXPECT_EQ(found->optics.s, Spectrum::flat(0.02));
  EXPECT_EQ(found->soak, 0.2);
  EXPECT_NEAR(found->ink_spread.v, 50, 1e-12);
  EXPECT_EQ(found->provenance.status, DataStatus::measured);
  EXPECT_THAT(found->provenance.assumed, Contains("gloss"));
  EXPECT_THAT(found->provenance.assumed, Not(Contains("soak")));
}

// Truth: the readings are made here with the textbook layer (Kubelka 1948); the record must find its K and S
// again.
TEST_F(Records, FilmsGiveBackKAndS) {
  const KS ks{0.03, 0.02};
  const double black = reflectance_over(ks, {25}, 0.03), white = reflectance_over(ks, {25}, 0.82);
  const std::string b = std::to_string(black), w = std::to_string(white);
  folder_.write(
      "inks/film.toml",
      ink_text("film",
               "[films]\nwavelength_nm = [400, 700]\nover_black = [" + b + ", " + b + "]\nover_white = [" +
                   w + ", " + w +
                   "]\ncard_black = 0.03\ncard_white = [0.82, 0.82]\nthickness_um = 25\ngloss = 0\n"));
  const Ink* found = ink("film");
  ASSERT_NE(found, nullptr) << lines()[0];
  EXPECT_NEAR(found->optics.k[20], 0.03, 1e-5);
  EXPECT_NEAR(found->optics.s[20], 0.02, 1e-5);
  EXPECT_EQ(found->provenance.status, DataStatus::measured);
}

TEST_F(Records, ColourAndHidingGiveAnInkThatHasThem) {
  folder_.write("inks/hexed.toml", ink_text("hexed",
                                            "[colour]\nhex = \"#c83040\"\ngloss = "
                                            "0\n[colour.hiding]\ncontrast_ratio = 0.6\nthickness_um = 30\n"));
  folder_.write("inks/worded.toml", ink_text("worded",
                                             "[colour]\nlab = [60, 20, 40]\nlight = \"D65\"\nobserver = "
                                             "10\ngloss = 0\n[colour.hiding]\nword = \"weak\"\n"));
  const Ink* hexed = ink("hexed");
  const Ink* worded = ink("worded");
  ASSERT_NE(hexed, nullptr) << lines()[0];
  ASSERT_NE(worded, nullptr) << lines()[0];
  EXPECT_EQ(hexed->provenance.status, DataStatus::estimated)
      << "recovered from a colour, whatever the record says";
  const ViewingWeights d65 = viewing_weights("D65", Observer::cie1931_2deg);
  const Spectrum opaque = spectrum_of([&](std::size_t i) { return r_infinity(hexed->optics.at(i)); });
  EXPECT_EQ(hex_text(srgb_codes8(srgb_from_xyz(xyz_from_reflectance(opaque, d65), d65.white).linear)),
            "#c83040");
  EXPECT_NEAR(luminous_contrast_ratio(hexed->optics, {30}, Spectrum::flat(0.02), Spectrum::flat(0.8), d65),
              0.6, 1e-4);
  const ViewingWeights ten = viewing_weights("D65", Observer::cie1964_10deg);
  const Lab lab =
      lab_from_reflectance(spectrum_of([&](std::size_t i) { return r_infinity(worded->optics.at(i)); }), ten);
  EXPECT_NEAR(lab.l, 60, 0.01);
  EXPECT_NEAR(lab.a, 20, 0.01);
  EXPECT_NEAR(lab.b, 40, 0.01);
  EXPECT_NEAR(luminous_contrast_ratio(worded->optics, {25}, Spectrum::flat(0.02), Spectrum::flat(0.8), ten),
              0.55, 1e-4);
}

TEST_F(Records, OpaqueSpectrumAndHiding) {
  folder_.write("inks/opaque.toml", ink_text("opaque",
                                             "[opaque]\nwavelength_nm = [400, 700]\nreflectance = [0.2, "
                                             "0.6]\ngloss = 0\n[opaque.hiding]\nword = \"high\"\n"));
  const Ink* found = ink("opaque");
  ASSERT_NE(found, nullptr) << lines()[0];
  EXPECT_NEAR(r_infinity(found->optics.at(2)), 0.2, 1e-6);
  EXPECT_NEAR(r_infinity(found->optics.at(32)), 0.6, 1e-6);
}

TEST_F(Records, MixAddsByVolumeShare) {
  folder_.write("inks/grey.toml", ink_text("grey", kGrey));
  folder_.write(
      "inks/thin.toml",
      ink_text("thin", "[optics]\nwavelength_nm = [400, 700]\nK_per_um = [0.3, 0.3]\nS_per_um = [0, 0]\n"));
  folder_.write(
      "inks/mixed.toml",
      ink_text("mixed", "[[mix]]\nink = \"grey\"\nshare = 0.75\n[[mix]]\nink = \"thin\"\nshare = 0.25\n"));
  const Ink* found = ink("mixed");
  ASSERT_NE(found, nullptr) << lines()[0];
  EXPECT_NEAR(found->optics.k[10], 0.15, 1e-12);
  EXPECT_NEAR(found->optics.s[10], 0.015, 1e-12);
}

TEST_F(Records, MixFaults) {
  folder_.write("inks/grey.toml", ink_text("grey", kGrey));
  folder_.write("inks/loop.toml", ink_text("loop", "[[mix]]\nink = \"pool\"\nshare = 1\n"));
  folder_.write("inks/pool.toml", ink_text("pool", "[[mix]]\nink = \"loop\"\nshare = 1\n"));
  folder_.write("inks/short.toml", ink_text("short", "[[mix]]\nink = \"grey\"\nshare = 0.9\n"));
  folder_.write("inks/lost.toml", ink_text("lost", "[[mix]]\nink = \"gray\"\nshare = 1\n"));
  EXPECT_EQ(ink("loop"), nullptr);
  EXPECT_EQ(ink("short"), nullptr);
  EXPECT_EQ(ink("lost"), nullptr);
  EXPECT_THAT(lines(), ElementsAre("9:7 ink \"loop\" is made of itself | take it out of its own mix",
                                   "8:1 the shares of the mix sum to 0.9; they must sum to 1",
                                   "9:7 there is no ink \"gray\" | did you mean \"grey\"?"));
}

TEST_F(Records, NegativeKNamesTheBand) {
  folder_.write(
      "inks/bad.toml",
      ink_text("bad",
               "[optics]\nwavelength_nm = [400, 600]\nK_per_um = [0.2, -0.011]\nS_per_um = [0.02, 0.02]\n"));
  EXPECT_EQ(ink("bad"), nullptr);
  EXPECT_THAT(
      lines(),
      ElementsAre(
          "10:18 optics.K_per_um[1] (600 nm) is -0.011; it must be a number, >= 0 | neither K nor S can "
          "be negative: likely the readings over black and over white do not belong together"));
}

TEST_F(Records, FilmsThatNoInkCanGive) {
  folder_.write(
      "inks/bad.toml",
      ink_text("bad",
               "[films]\nwavelength_nm = [400, 700]\nover_black = [0.7, 0.7]\nover_white = [0.2, 0.2]\n"
               "card_black = 0.03\ncard_white = 0.8\nthickness_um = 25\n"));
  EXPECT_EQ(ink("bad"), nullptr);
  ASSERT_EQ(lines().size(), 1u);
  EXPECT_THAT(lines()[0], HasSubstr("8:1 no film can look like this: "));
}

TEST_F(Records, ProvenanceIsRequired) {
  folder_.write("inks/bare.toml", head("bare") + "family = \"plastisol\"\n" + kGrey);
  folder_.write("inks/empty.toml",
                head("empty") +
                    "family = \"plastisol\"\n[provenance]\nstatus = \"guess\"\nsource = \"\"\nsigma = -1\n" +
                    kGrey);
  EXPECT_EQ(ink("bare"), nullptr);
  EXPECT_EQ(ink("empty"), nullptr);
  EXPECT_THAT(
      lines(),
      ElementsAre("1:1 \"provenance\" is missing; it must be a table, [provenance] | add the key",
                  "6:10 provenance.status is \"guess\"; it must be one of \"measured\", \"literature\", "
                  "\"estimated\", \"invented\"",
                  "7:10 provenance.source is empty; it must say where the numbers come from",
                  "8:9 provenance.sigma is -1; it must be a number, 0..50"));
}

TEST_F(Records, HeadFaults) {
  folder_.write("inks/a.toml",
                "schema = 2\nid = \"b\"\nname = \"x\"\nfamily = \"plastizol\"\n" + kProvenance + kGrey);
  EXPECT_EQ(ink("a"), nullptr);
  EXPECT_THAT(
      lines(),
      ElementsAre(
          "1:10 schema is 2; it must be a whole number, 1..1",
          "2:6 id is \"b\"; it must be the file's name, \"a\" | rename the file or change the id",
          "4:10 family is \"plastizol\"; it must be one of \"plastisol\", \"water base\", \"discharge\" | "
          "did you mean \"plastisol\"?"));
}

TEST_F(Records, OneWayToTheColourOnly) {
  folder_.write("inks/none.toml", ink_text("none", ""));
  folder_.write("inks/two.toml", ink_text("two", kGrey + "[look]\nhex = \"#808080\"\n"));
  folder_.write("inks/flat.toml", ink_text("flat", "[look]\nhex = \"#808080\"\n"));
  folder_.write("inks/neon.toml", ink_text("neon", kGrey, "effect = \"fluorescent\"\n"));
  for (const char* id : {"none", "two", "flat", "neon"}) EXPECT_EQ(ink(id), nullptr) << id;
  const std::string remedy =
      " | give one of [optics], [films], [opaque], [colour], [[mix]]; an effect ink has [look]";
  EXPECT_THAT(
      lines(),
      ElementsAre(
          "1:1 the ink has no colour" + remedy,
          "1:1 the ink's colour is given in more than one way: optics, look" + remedy,
          "1:1 [look] is for inks with an effect; this ink has effect = \"none\" | name the effect, or "
          "give [colour] and hiding",
          "1:1 an ink with an effect is outside the model and needs [look], the colour to draw | "
          "replace [optics] by [look]"));
}

TEST_F(Records, AgentBelongsToDischarge) {
  folder_.write("inks/a.toml", ink_text("a", kGrey, "agent_g_cm3 = 0.1\n"));
  EXPECT_EQ(ink("a"), nullptr);
  EXPECT_THAT(
      lines(),
      ElementsAre("5:15 agent_g_cm3 is given, but the ink's family is not \"discharge\" | set family = "
                  "\"discharge\", or take the key out"));
}

TEST_F(Records, ColourFaults) {
  const std::string hiding = "[colour.hiding]\nword = \"normal\"\n";
  folder_.write("inks/a.toml", ink_text("a", "[colour]\nhex = \"#12345\"\n" + hiding));
  folder_.write("inks/b.toml", ink_text("b", "[colour]\nhex = \"#123456\"\nlight = \"D50\"\n" + hiding));
  folder_.write("inks/c.toml", ink_text("c", "[colour]\nlab = [101, 0, 0]\n" + hiding));
  folder_.write("inks/d.toml",
                ink_text("d", "[colour]\nlab = [50, 0, 0]\nlight = \"D51\"\nobserver = 4\n" + hiding));
  folder_.write("inks/e.toml", ink_text("e", "[colour]\n" + hiding));
  folder_.write(
      "inks/f.toml",
      ink_text("f", "[colour]\nlab = [60, 90, 95]\n[colour.hiding]\nword = \"normal\"\nthickness_um = 5\n"));
  for (const char* id : {"a", "b", "c", "d", "e", "f"}) EXPECT_EQ(ink(id), nullptr) << id;
  EXPECT_THAT(
      lines(),
      ElementsAre(
          "9:7 colour.hex is \"#12345\"; it must be \"#\" and six hexadecimal digits",
          "9:7 hex is sRGB, which is D65 and 2 degrees; light and observer do not go with it | leave them "
          "out, or give lab",
          "9:8 colour.lab[0], L*, is 101; it must be 0..100",
          "11:12 colour.observer is 4; it must be 2 or 10 (degrees)",
          "10:9 colour.light is \"D51\"; it must be one of D50, D65, A, F1, F2, F3, F4, F5, F6, F7, F8, F9, "
          "F10, F11, F12, LED-B3",
          "8:1 no colour is given | give lab = [L, a, b], or hex = \"#rrggbb\"",
          "10:1 hiding has both a word and numbers | give word = \"normal\", or contrast_ratio and "
          "thickness_um"));
}

TEST_F(Records, UnknownIdListsWhatThereIs) {
  folder_.write("inks/base-white.toml", ink_text("base-white", kGrey));
  EXPECT_EQ(ink("base-whit"), nullptr);
  EXPECT_EQ(ink("zzz"), nullptr);
  EXPECT_EQ(ink("../inks/base-white"), nullptr);
  EXPECT_EQ(shirt("none"), nullptr);
  EXPECT_THAT(lines(), ElementsAre("7:8 there is no ink \"base-whit\" | did you mean \"base-white\"?",
                                   "7:8 there is no ink \"zzz\" | known inks: base-white",
                                   HasSubstr("7:8 there is no ink \"../inks/base-white\""),
                                   "7:8 there is no shirt \"none\" | no shirts were found in "));
}

TEST_F(Records, AFaultyRecordIsReportedOnceAtItsLines) {
  folder_.write("inks/a.toml", ink_text("a", kGrey, "soak = 2\n"));
  EXPECT_EQ(ink("a"), nullptr);
  EXPECT_EQ(ink("a"), nullptr);
  EXPECT_THAT(lines(), ElementsAre("5:8 soak is 2; it must be a number, 0..1",
                                   "7:8 ink \"a\" has the faults reported already | mend its record"));
}

TEST_F(Records, EarlierFolderWins) {
  const TempFolder other;
  folder_.write("inks/grey.toml", ink_text("grey", kGrey));
  other.write("inks/grey.toml", ink_text("grey", kGrey, "soak = 0.01\n"));
  Library both({other.path(), folder_.path()});
  EXPECT_EQ(both.ink("grey", {}, faults_)->soak, 0.01);
  EXPECT_THAT(both.ids("inks"), ElementsAre("grey"));
  EXPECT_THAT(lines(), IsEmpty());
}

// Shirts.
const std::string kCotton =
    head("cotton") + kProvenance +
    "[optics]\nwavelength_nm = [400, 700]\nK_per_um = [5e-5, 5e-5]\nS_per_um = [0.008, 0.008]\n";
const std::string kAzo =
    head("azo") + "reducible = 0.99\n" + kProvenance +
    "[optics]\nwavelength_nm = [400, 700]\nK_per_um = [0.1, 0.2]\nbyproduct_K_per_um = [0.001, 0]\n";
std::string shirt_text(const std::string& id, const std::string& fibres, const std::string& keys = "") {
  return head(id) + "fibre_text = \"cotton\"\n" + keys + kProvenance + fibres;
}

TEST_F(Records, ShirtOfFibresAndDyes) {
  folder_.write("fibres/cotton.toml", kCotton);
  folder_.write("dyes/azo.toml", kAzo);
  folder_.write(
      "shirts/tee.toml",
      shirt_text(
          "tee",
          "[[fibre]]\nfibre = \"cotton\"\nshare = 0.6\n[[fibre.dye]]\ndye = \"azo\"\namount = 0.5\nreducible "
          "= 0.9\n"
          "[[fibre]]\nname = \"other\"\nshare = 0.4\nwavelength_nm = [400, 700]\nK_per_um = [0, 0]\nS_per_um "
          "= [0.006, 0.006]\ntakes_agent = 0\n"
          "[[fibre.dye]]\nname = \"own\"\nwavelength_nm = [400, 700]\nK_per_um = [0.3, 0.3]\nreducible = 0\n",
          "thickness_um = \"0.6 mm\"\nbacking = 0.2\ndischarge_grade = 4\n"));
  const Cloth* tee = shirt("tee");
  ASSERT_NE(tee, nullptr) << lines()[0];
  ASSERT_EQ(tee->fibres.size(), 2u);
  EXPECT_NEAR(tee->thickness.v, 600, 1e-9);
  EXPECT_EQ(tee->backing, Spectrum::flat(0.2));
  EXPECT_EQ(tee->discharge_grade, 4);
  EXPECT_NEAR(tee->fibres[0].share, 0.6, 1e-12);
  EXPECT_EQ(tee->fibres[0].takes_agent, 1);
  EXPECT_EQ(tee->fibres[1].takes_agent, 0);
  const Dye& azo = tee->fibres[0].dyes.at(0);
  EXPECT_NEAR(azo.k_per_um[2], 0.05, 1e-12);
  EXPECT_NEAR(azo.byproduct_k_per_um[2], 0.0005, 1e-12);
  EXPECT_EQ(azo.reducible, 0.9);
  EXPECT_EQ(tee->fibres[1].dyes.at(0).name, "own");
}

TEST_F(Records, ShirtByColourIsEstimated) {
  folder_.write("fibres/cotton.toml", kCotton);
  folder_.write("shirts/tee.toml",
                shirt_text("tee",
                           "[[fibre]]\nfibre = \"cotton\"\n[fibre.bare]\nhex = "
                           "\"#1f4d33\"\n[fibre.discharged]\nhex = \"#d8d2b8\"\ndose_g_m2 = 4\n"));
  const Cloth* tee = shirt("tee");
  ASSERT_NE(tee, nullptr) << lines()[0];
  EXPECT_EQ(tee->provenance.status, DataStatus::estimated);
  EXPECT_EQ(tee->fibres[0].dyes.size(), 2u);
}

TEST_F(Records, ShirtFaults) {
  folder_.write("fibres/cotton.toml", kCotton);
  folder_.write("shirts/a.toml", shirt_text("a", "", "pores = 0.5\ndischarge_grade = 6\nbacking = 2\n"));
  folder_.write("shirts/b.toml", shirt_text("b",
                                            "[[fibre]]\nfibre = \"coton\"\nshare = 0.5\n[[fibre]]\nfibre = "
                                            "\"cotton\"\nshare = 0.4\n[[fibre.dye]]\ndye = \"azo\"\n"));
  folder_.write("shirts/c.toml",
                shirt_text("c", "[[fibre]]\nname = \"x\"\n[fibre.discharged]\nhex = \"#ffffff\"\n"));
  for (const char* id : {"a", "b", "c"}) EXPECT_EQ(shirt(id), nullptr) << id;
  EXPECT_THAT(
      lines(),
      ElementsAre(
          "5:9 pores is 0.5; it must be a number, 0..0.2",
          "6:19 discharge_grade is 6; it must be a whole number, 1..5",
          "7:11 backing is 2; it must be a number, 0..1",
          "1:1 the shirt has no fibre | add at least one [[fibre]] table",
          "9:9 there is no fibre \"coton\" | did you mean \"cotton\"?",
          "15:7 there is no dye \"azo\" | no dyes were found in ",
          "8:1 the shares of the fibres sum to 0.9; they must sum to 1",
          "8:1 \"fibre[1].fibre\" is missing; it must be a record of fibres/ | add fibre = \"cotton\", "
          "or wavelength_nm, K_per_um and S_per_um",
          "8:1 [fibre[1].discharged] is given without [fibre[1].bare] | give the colour before "
          "discharge too",
          HasSubstr("fibre[1].name")));
}

TEST_F(Records, MeshAndPressFaults) {
  folder_.write("meshes/m.toml",
                head("m") + "count = \"61\"\nthread_um = -1\nfabric_um = \"2 mm\"\n" + kProvenance);
  folder_.write("meshes/n.toml",
                head("n") + "count = \"156/cm\"\nthread_um = 70\nfabric_um = 105\n" + kProvenance);
  folder_.write("presses/p.toml",
                head("p") + "pair_sigma_mm = \"9 mm\"\nheads = 0\nautomatic = \"yes\"\n" + kProvenance);
  EXPECT_EQ(library().mesh("m", {}, faults_), nullptr);
  EXPECT_EQ(library().mesh("n", {}, faults_), nullptr);
  EXPECT_EQ(library().press("p", {}, faults_), nullptr);
  EXPECT_THAT(
      lines(),
      ElementsAre("4:9 count is \"61\"; it must be text with a unit (/cm or /in), such as \"156/in\"",
                  "5:13 thread_um is -1; it must be 10..500 um",
                  "6:13 fabric_um is \"2 mm\" (2000 um); it must be 10..1000 um",
                  "5:13 thread_um is 70; at this count a thread must be thinner than 64.1026 um, or there is "
                  "no opening | check whether the count is per cm or per in",
                  "4:17 pair_sigma_mm is \"9 mm\" (9 mm); it must be 0..5 mm",
                  "5:9 heads is 0; it must be a whole number, 1..30",
                  "6:13 automatic is \"yes\"; it must be true or false"));
}

TEST_F(Records, PressTakesItsFiguresAndSaysWhatItAssumed) {
  folder_.write("presses/bare.toml",
                head("bare") + "pair_sigma_mm = 0.08\nheads = 8\nautomatic = true\n" + kProvenance);
  folder_.write(
      "presses/full.toml",
      head("full") +
          "pair_sigma_mm = 0.13\nheads = 6\nflash_takes_head = true\nflashes = 2\npallets = 4\n"
          "pallet_mm = [\"16 in\", 560]\nlargest_image_mm = [380, \"48 cm\"]\nsetup_sigma_mm = \"1/2 pt\"\n"
          "setup_turn_sigma_deg = 0.03\nturn_sigma_deg = 0.01\n" +
          kProvenance);
  const PressPreset* bare = library().press("bare", {}, faults_);
  const PressPreset* full = library().press("full", {}, faults_);
  EXPECT_THAT(lines(), IsEmpty());
  ASSERT_TRUE(bare != nullptr && full != nullptr);
  EXPECT_TRUE(bare->flash_takes_head) << "as automatic";
  EXPECT_EQ(bare->flashes, 1);
  EXPECT_EQ(bare->pallets, 1);
  EXPECT_EQ(bare->image_width.v, 0);
  EXPECT_EQ(bare->setup_sigma.v, 0);
  EXPECT_THAT(bare->provenance.assumed, Contains("turn_sigma_deg"));
  EXPECT_TRUE(full->flash_takes_head);
  EXPECT_FALSE(full->automatic);
  EXPECT_EQ(full->flashes, 2);
  EXPECT_EQ(full->pallets, 4);
  EXPECT_NEAR(full->pallet_width.v, 406.4, 1e-9);
  EXPECT_EQ(full->pallet_height.v, 560);
  EXPECT_EQ(full->image_height.v, 480);
  EXPECT_NEAR(full->setup_sigma.v, 25.4 / 144, 1e-12);
  EXPECT_EQ(full->setup_turn_sigma_deg, 0.03);
  EXPECT_EQ(full->turn_sigma_deg, 0.01);
}

TEST_F(Records, PressFaultsOfSizesAndSigmas) {
  folder_.write("presses/p.toml",
                head("p") +
                    "pair_sigma_mm = 0\nheads = 31\nflashes = -1\npallets = 0\npallet_mm = [400]\n"
                    "largest_image_mm = [400, 40]\nsetup_sigma_mm = nan\nturn_sigma_deg = 2.1\n" +
                    kProvenance);
  EXPECT_EQ(library().press("p", {}, faults_), nullptr);
  EXPECT_THAT(lines(),
              ElementsAre("5:9 heads is 31; it must be a whole number, 1..30",
                          "6:11 flashes is -1; it must be a whole number, 0..10",
                          "7:11 pallets is 0; it must be a whole number, 1..60",
                          "8:13 pallet_mm is a list of 1; it must be a list of 2 lengths, width and height",
                          "9:26 largest_image_mm[1] is 40; it must be 50..2000 mm",
                          "10:18 setup_sigma_mm is nan; it must be 0..5 mm",
                          "11:18 turn_sigma_deg is 2.1; it must be a number, 0..2"));
}

}  // namespace
}  // namespace kirtle
