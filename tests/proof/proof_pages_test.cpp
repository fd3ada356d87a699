// The pages of an order: laid out whatever is ordered, their swatches read back, nothing smuggled in, nothing
// made up.
#include "job/read_scene.h"
#include "light/delta_e_2000.h"
#include "predict/reading.h"
#include "proof/order_fixture.h"
#include "proof/pdf_tools.h"

#include <regex>

namespace kirtle::test {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

class ProofPages : public Orders {
 protected:
  const std::string top_ =
      "schema = 1\ncustomer = \"Harbour choir (invented)\"\norder = \"7\"\ndate = 2026-11-25\n";
  static std::string print(const std::string& location, const std::string& scene,
                           const std::string& more = {}) {
    return "[[print]]\nlocation = \"" + location + "\"\nscene = \"" + scene + ".toml\"\n" + more + "\n";
  }
  static std::string shirts(const std::string& id, const std::string& quantities) {
    return "[[shirts]]\nshirt = \"" + id + "\"\nquantities = { " + quantities + " }\n";
  }
};

TEST_F(ProofPages, AnOrderOfThreePrintsIsLaidOutWithOneSignature) {
  scene("a", "black-cotton", kThreeInks, 12, 13.5);
  scene("b", "black-cotton", {{"black", "wb-black"}}, 12, 3);
  scene("c", "black-cotton", kThreeInks, 3, 3);
  const Order o =
      order(top_ + print("front", "a") + print("back", "b") + print("sleeve", "c") +
            shirts("black-cotton", "YS = 3, S = 10, \"3XL\" = 2") + shirts("sand-cotton", "M = 5"));
  const Made m = made(o);
  expect_laid_out(m.proof);
  expect_laid_out(m.ticket);
  EXPECT_EQ(m.ticket.pages.size(), 3u);
  const std::string words = words_of(m.proof);
  std::size_t signatures = 0;
  for (std::size_t at = words.find("Signature\n"); at != std::string::npos;
       at = words.find("Signature\n", at + 1))
    ++signatures;
  EXPECT_EQ(signatures, 1u);
  EXPECT_THAT(
      words,
      HasSubstr("12.0 x 13.5 in is too large for YS (YS takes 9.5 x 12 in at most, usual on "
                "youth sizes is 9 x 12 in). Print all 9.5 in "
                "wide, or make two sets of screens: 9.5 in for YS, 12 in for S, M and 3XL?"));
  EXPECT_THAT(words, HasSubstr("12.0\u00a0in (305\u00a0mm)"));
  EXPECT_THAT(words, HasSubstr("colours may shift against each other by up to 0.5 mm"));
  EXPECT_THAT(words, HasSubstr("up to 25 mm"));
  EXPECT_THAT(words, Not(HasSubstr(" shirts about")));  // the share only on request
}

struct Case {
  const char* name;
  std::vector<InkText> inks;
  double width_in, height_in;
  std::string customer, title;
};

std::vector<InkText> many_inks(std::size_t n, const std::string& customer) {
  const char* ids[] = {"base-white", "lemon-yellow", "golden-yellow", "orange", "red",   "maroon",
                       "pink",       "purple",       "royal-blue",    "teal",   "brown", "black"};
  std::vector<InkText> out;
  for (std::size_t i = 0; i < n; ++i)
    out.push_back({"plate " + std::to_string(i + 1), ids[i], i == 0 ? "flash = true" : "", customer});
  return out;
}

TEST_F(ProofPages, WhateverIsOrderedNothingOverlaps) {
  const std::string longest(200, 'W');
  const std::string wordy =
      "The Amalgamated Society of Night Gardeners, Lantern Keepers and Early Risers of the Upper Harbour and "
      "its "
      "Dependencies (invented), Committee for Shirts";
  const std::vector<Case> cases = {
      {"one ink", many_inks(1, ""), 10, 10, "A", "One"},
      {"twelve inks", many_inks(12, "Colour of the old lighthouse door, as painted in spring"), 12, 14, wordy,
       wordy},
      {"no spaces", many_inks(3, std::string(180, 'M')), 12, 14, longest, longest},
      {"other scripts", many_inks(2, "クリーム 크림 кремовый"), 10, 12, "日本語の店 שלום مرحبا",
       "हिन्दी ไทย Ελληνικά"},
      {"very tall", many_inks(2, ""), 1.2, 18, "A", "Tall"},
      {"very wide", many_inks(2, ""), 15, 0.6, "A", "Wide"},
      {"very small", many_inks(2, ""), 0.5, 0.5, "A", "Small"}};
  for (const Case& c : cases) {
    SCOPED_TRACE(c.name);
    scene("s", "navy-cotton", c.inks, c.width_in, c.height_in, "", c.title);
    const Order o =
        order("schema = 1\ncustomer = '''" + c.customer + "'''\norder = '''" + c.customer.substr(0, 40) +
              "'''\nversion = 2\nreplaces = 1\ndue = 2026-12-01\n" + print("front", "s") +
              shirts("navy-cotton",
                     "YXS = 1, YS = 1, YM = 1, YL = 1, YXL = 1, XS = 1, S = 1, M = 1, L = 1, "
                     "XL = 1, \"2XL\" = 1, \"3XL\" = 1, \"4XL\" = 1, \"5XL\" = 100000"));
    for (const PaperSize& paper : {kA4, kLetter, kLeastPaper, PaperSize{297, 420}}) {
      SCOPED_TRACE(paper.width_mm);
      const Made m = made(o, {paper});
      expect_laid_out(m.proof);
      expect_laid_out(m.ticket);
    }
  }
}

TEST_F(ProofPages, EveryPlaceOnTheShirtIsDrawnWithinItsPanel) {
  scene("s", "sand-cotton", kThreeInks, 3, 3);
  for (const char* place : {"front", "back", "left chest", "sleeve", "nape"}) {
    const Made m = made(order(top_ + print(place, "s") + shirts("sand-cotton", "S = 1, \"5XL\" = 1")));
    expect_laid_out(m.proof);
  }
}

TEST_F(ProofPages, TwentyColoursAndEightPrintsHaveRoom) {
  scene("s", "sand-cotton", {{"one", "wb-black"}}, 3, 3);
  std::string text = top_;
  for (const char* place : {"front", "back", "left chest", "sleeve", "nape"}) text += print(place, "s");
  for (const char* id :
       {"ash-heather", "black-blend", "black-cotton", "black-polyester", "charcoal-cotton",
        "chocolate-cotton", "dark-heather", "forest-green-cotton", "gold-cotton", "kelly-green-cotton"})
    text += shirts(id, "S = 1, M = 2");
  const Made m = made(order(text));
  expect_laid_out(m.proof);
  expect_laid_out(m.ticket);
}

/// Swatches of the table of inks, read off the page as poppler draws it, against the prediction asked anew.
TEST_F(ProofPages, SwatchesReadBackFromThePdfAsPredicted) {
  const TempFolder scratch;
  const std::vector<InkText> inks = {{"base", "base-white", "flash = true"},
                                     {"turquoise", "turquoise"},
                                     {"yellow", "lemon-yellow"},
                                     {"scarlet", "scarlet"},
                                     {"blue", "royal-blue"},
                                     {"orange", "orange"},
                                     {"green", "kelly-green"},
                                     {"magenta", "magenta"}};
  int inside = 0, outside = 0;
  for (const char* shirt : {"black-cotton", "white-cotton"}) {
    const Order o = read_order(scene("s", shirt, inks, 8, 8));
    const Made m = made(o);
    const std::filesystem::path pdf = scratch / "proof.pdf";
    write_pdf(m.proof, pdf);
    constexpr int kDpi = 254;
    const Pixels page = rasterised(pdf, 1, kDpi, scratch);
    const Scene own = read_scene(o.prints[0].scene);
    const PrintModel model(own);
    const XYZ& white = model.table.weights().white;
    std::size_t row = 0;
    for (const PlacedItem& item : m.proof.pages[0].items()) {
      if (item.name != "inks swatch " + std::to_string(row) + " colour") continue;
      ASSERT_LT(row, inks.size());
      const Rgb8 seen = page.at(static_cast<int>((item.box.x + item.box.width / 2) * kDpi / 25.4),
                                static_cast<int>((item.box.y + item.box.height / 2) * kDpi / 25.4));
      std::vector<double> printed(inks.size(), 0.0);
      printed[0] = printed[row] = 1;  // each stripe lies on the base
      const PointReading reading = read_printed(own, model, printed);
      const double de00 = delta_e_2000(lab_from_xyz(xyz_from_srgb8(seen, white), white), reading.lab);
      if (!reading.srgb.clipped) {
        EXPECT_LT(de00, 1.0) << shirt << ' ' << inks[row].plate;
        ++inside;
      } else if (reading.srgb.clip_de00 > 0.5) {
        char distance[40];
        std::snprintf(distance, sizeof distance, "by dE00 %.1f", reading.srgb.clip_de00);
        EXPECT_THAT(words_of(m.proof), HasSubstr(distance)) << shirt << ' ' << inks[row].plate;
        EXPECT_NEAR(de00, reading.srgb.clip_de00, 1.0);
        ++outside;
      }
      ++row;
    }
    EXPECT_EQ(row, inks.size());
  }
  EXPECT_GT(inside, 8);
  EXPECT_GT(outside, 0);  // or the flag is not tested
}

TEST_F(ProofPages, SizeOnThePictureIsTheSizeOnTheShirt) {
  const Order o = read_order(scene("s", "white-cotton", {{"black", "black"}}, 10, 6));
  const Made m = made(o);
  // The print's measure against the drawn shirt's: 10 in of a picture whose garment is 2XL, 26 in of chest.
  Garment g;
  g.chest_mm = 26 * 25.4;
  g.length_mm = 32 * 25.4;
  g.print_width_mm = 254;
  const double whole_mm = lay_garment(g).width_mm;
  std::vector<double> measures, pictures;
  for (const PlacedItem& item : m.proof.pages[0].items()) {
    if (item.name == "shirts width") measures.push_back(item.box.width);
    if (item.name == "shirts shirt") pictures.push_back(item.box.width);
  }
  ASSERT_EQ(measures.size(), 2u);
  EXPECT_NEAR(measures[0], measures[1], 1e-9);  // one scale for both
  EXPECT_NEAR(measures[1] / pictures[1], 254 / whole_mm, 1e-3);
}

TEST_F(ProofPages, SameOrderSameBytes) {
  scene("a", "black-cotton", kThreeInks, 12, 13.5);
  const Order o = order(top_ + print("front", "a") + shirts("black-cotton", "S = 10"));
  const Made one = made(o), two = made(o);
  EXPECT_EQ(pdf_bytes(one.proof), pdf_bytes(two.proof));
  EXPECT_EQ(pdf_bytes(one.ticket), pdf_bytes(two.ticket));
}

TEST_F(ProofPages, ChecksumChangesWithAPlateAndNothingElse) {
  scene("a", "black-cotton", kThreeInks, 4, 4);
  const Order o = order(top_ + print("front", "a") + shirts("black-cotton", "S = 10"));
  const Made before = made(o);
  const std::string was = checksum_of(o, before.studies);
  EXPECT_EQ(was, checksum_of(o, made(o).studies));
  plate("a-1.png", 200, 200, 50, [](int x, int y) { return x == 7 && y == 9 ? 1.0 : 0.0; });
  EXPECT_NE(was, checksum_of(o, before.studies));
  EXPECT_EQ(was.size(), 64u);
  EXPECT_EQ(short_checksum(was).size(), 19u);
}

TEST_F(ProofPages, NamesStayNames) {
  const TempFolder scratch;
  scene("a", "black-cotton", {{"<plate>", "black", "", "<span size='999999'>&amp;</span>"}}, 4, 4, "",
        "\\u001b[31m</x:xmpmeta> (/JS) endobj %PDF");
  const Order o =
      order("schema = 1\ncustomer = \"<b>Zo\\u0007</b>) Tj (\\u202Egnp.exe\\n\"\norder = \"]]>&<\"\n" +
            print("front", "a") + shirts("black-cotton", "S = 1"));
  const Made m = made(o);
  for (const PageDocument* d : {&m.proof, &m.ticket}) {
    write_pdf(*d, scratch / "a.pdf");
    const Ran check = run({"qpdf", "--check", (scratch / "a.pdf").string()});
    EXPECT_EQ(check.status, 0) << check.output;
    const std::string text = run({"pdftotext", "-raw", (scratch / "a.pdf").string(), "-"}).output;
    EXPECT_THAT(text, HasSubstr("<b>Zo"));
    EXPECT_THAT(text, HasSubstr("gnp.exe"));
    EXPECT_THAT(text, Not(HasSubstr("\x07")));
    EXPECT_THAT(text, Not(HasSubstr("\xE2\x80\xAE")));
    EXPECT_THAT(run({"pdfinfo", "-js", (scratch / "a.pdf").string()}).output,
                Not(HasSubstr("JavaScript:      yes")));
  }
}

TEST_F(ProofPages, DischargeOnYouthSizesStopsUntilSomeoneAgreed) {
  scene("a", "forest-green-cotton", {{"cream", "discharge-cream"}}, 4, 4);
  const std::string rest = print("front", "a") + shirts("forest-green-cotton", "YM = 1, M = 3");
  const Order o = order(top_ + rest);
  Diagnostics notes;
  const std::vector<PrintStudy> studies = study_prints(o, {}, notes);
  try {
    stop_for_youth_discharge(o, studies);
    ADD_FAILURE() << "it did not stop";
  } catch (const InputError& e) {
    EXPECT_THAT(e.what(), HasSubstr("youth sizes are ordered (YM)"));
    EXPECT_THAT(e.what(), HasSubstr("safety data sheet"));
  }
  const Order agreed = order(top_ + "youth_discharge_agreed = \"asked A. Person\"\n" + rest);
  EXPECT_NO_THROW(stop_for_youth_discharge(agreed, studies));
  EXPECT_THAT(words_of(made(agreed).proof), HasSubstr("asked A. Person"));
  const Order adults = order(top_ + print("front", "a") + shirts("forest-green-cotton", "M = 3"));
  EXPECT_NO_THROW(stop_for_youth_discharge(adults, studies));
}

TEST_F(ProofPages, ClaimsNoMoreThanTheData) {
  const Made m = made(read_order(scene("s", "black-cotton", kThreeInks, 8, 8)));
  EXPECT_THAT(words_of(m.proof), HasSubstr("demonstration data"));
  PrintStudy study = m.studies[0];
  study.scene.shirt.provenance.status = DataStatus::measured;
  for (ScenePass& pass : study.scene.passes) pass.ink.provenance.status = DataStatus::measured;
  EXPECT_THAT(expectations(study)[0], HasSubstr("how near they come is not stated"));
  study.scene.shirt.provenance.colour_sigma_de00 = 1.2;
  for (ScenePass& pass : study.scene.passes) pass.ink.provenance.colour_sigma_de00 = 0.8;
  EXPECT_THAT(expectations(study)[0], HasSubstr("within 2 dE00"));
  study.scene.passes[1].ink.provenance.status = DataStatus::estimated;
  EXPECT_THAT(expectations(study)[0], HasSubstr("4 to 6 dE00 at best (an estimate)"));
}

TEST_F(ProofPages, RefusesASceneWithoutInk) {
  scene("s", "white-cotton", {{"black", "black"}}, 2, 2);
  plate("s-0.png", 100, 100, 50, [](int, int) { return 0.0; });
  Diagnostics notes;
  EXPECT_THROW(study_prints(read_order(folder_.path() / "s.toml"), {}, notes), InputError);
}

}  // namespace
}  // namespace kirtle::test
