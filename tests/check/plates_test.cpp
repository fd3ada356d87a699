// What the plates themselves say: each finding triggered, and just not. Limits: common practice, no source,
// unless said.
#include "check/job_fixture.h"

namespace kirtle::test {
namespace {

using ::testing::HasSubstr;

class CheckPlates : public Jobs {
 protected:
  /// One red plate on a white shirt.
  CheckReport red(const Film& film, const std::string& more = {}, const std::string& mesh = "61-64",
                  double ppi = 300) {
    plate("red", film, ppi);
    return check("white-cotton", pass("red", "red", more, mesh));
  }
};

TEST_F(CheckPlates, EmptyPlate) {
  plate("blue", box(5, 5, 35, 35));
  plate("red", box(0, 0, 0, 0));
  const std::string both = pass("red", "red") + pass("blue", "navy");
  ASSERT_FOUND(f, check("white-cotton", both), "empty-plate");
  EXPECT_EQ(f->severity, FindingSeverity::sent_back);
  EXPECT_EQ(f->plates, std::vector<std::string>{"red"});
  EXPECT_EQ(f->passes, std::vector<int>{1});
  plate("red", box(36, 36, 38, 38));
  EXPECT_NOT_FOUND(check("white-cotton", both), "empty-plate");
}

TEST_F(CheckPlates, PolarityByBorderAndByShare) {
  ASSERT_FOUND(turned, red(less(box(0, 0, 40, 40), box(10, 10, 30, 30))), "polarity");
  EXPECT_EQ(turned->severity, FindingSeverity::sent_back);  // ink to the very border
  ASSERT_FOUND(full, red(box(4, 4, 36, 36)), "polarity");   // 64 %
  EXPECT_EQ(full->severity, FindingSeverity::caution);
  EXPECT_NEAR(full->number, 64, 0.3);
  EXPECT_NOT_FOUND(red(box(5, 5, 35, 35)), "polarity");  // 56 %
}

TEST_F(CheckPlates, ResolutionOfEdges) {
  const Film shape = box(5, 5, 35, 35);
  ASSERT_FOUND(coarse, red(shape, {}, "61-64", 140), "resolution");
  EXPECT_EQ(coarse->severity, FindingSeverity::sent_back);  // under 150
  ASSERT_FOUND(bare, red(shape, {}, "61-64", 150), "resolution");
  EXPECT_EQ(bare->severity, FindingSeverity::caution);
  ASSERT_FOUND(doubtful, red(shape, {}, "61-64", 190), "resolution");
  EXPECT_EQ(doubtful->severity, FindingSeverity::caution);  // under 200
  EXPECT_EQ(doubtful->limit, 200);
  EXPECT_NOT_FOUND(red(shape, {}, "61-64", 200), "resolution");
}

TEST_F(CheckPlates, ResolutionOfTintsIsTwoPixelsALine) {
  // A fade without an edge.
  const Film fade = [](double x, double y, double) {
    return 0.9 * std::max(0.0, 1 - std::hypot(x - 20, y - 20) / 19);
  };
  ASSERT_FOUND(f, red(fade, "lpi = 65", "90-48", 128), "resolution");
  EXPECT_EQ(f->limit, 130);
  EXPECT_NEAR(f->number, 128, 0.1);
  EXPECT_NOT_FOUND(red(fade, "lpi = 65", "90-48", 131), "resolution");
}

TEST_F(CheckPlates, ResolutionOfOneBitPlates) {
  const auto one_bit = [&](double ppi) {
    PictureFormat format;
    format.width = format.height = 240;
    format.channels = format.bits = 1;
    format.ppi = ppi;
    const auto out = PictureWriter::open(folder_.path() / "red.png", format);
    for (int y = 0; y < 240; ++y) {
      std::vector<std::uint8_t> row(30, 0xFF);
      if (y > 40 && y < 200) std::fill(row.begin() + 5, row.begin() + 25, std::uint8_t{0});
      out->write_rows8(row);
    }
    out->commit();
    return check("white-cotton", pass("red", "red"));
  };
  ASSERT_FOUND(f, one_bit(590), "resolution");
  EXPECT_EQ(f->limit, 600);
  EXPECT_EQ(f->severity, FindingSeverity::caution);
  EXPECT_NOT_FOUND(one_bit(600), "resolution");
}

TEST_F(CheckPlates, ThinLinesWithPlaceAndNumber) {
  const auto line = [&](double width) { return sum({box(5, 20, 35, 20 + width), box(5, 30, 35, 36)}); };
  ASSERT_FOUND(thin, red(line(0.25)), "thin-lines");
  EXPECT_EQ(thin->severity, FindingSeverity::caution);
  EXPECT_NEAR(thin->number, 0.25, 0.02);
  EXPECT_EQ(thin->limit, 0.35);
  ASSERT_TRUE(thin->at.has_value());
  EXPECT_NEAR(thin->at->y.v, 20, 2.6);  // within its square of 5 mm
  // Thinner than the smallest dot that 61-64 holds: .85 (2 x 64 + 100) = 194 um.
  ASSERT_FOUND(lost, red(line(0.15)), "thin-lines");
  EXPECT_EQ(lost->severity, FindingSeverity::sent_back);
  EXPECT_NOT_FOUND(red(line(0.36)), "thin-lines");
}

TEST_F(CheckPlates, TipsOfTapersAreNoThinLines) {
  const Film wedge = [](double x, double y, double) {
    return y > 20 && y < 20 + 0.05 * (x - 5) && x < 35 ? 1.0 : 0.0;
  };
  EXPECT_NOT_FOUND(red(sum({box(5, 30, 35, 36), box(34, 20, 36, 22), wedge})), "thin-type");
  const Film spike = [](double x, double y, double) {
    return y > 20 && y < 20 + 0.3 * (x - 5) && x < 35 ? 1.0 : 0.0;
  };
  EXPECT_NOT_FOUND(red(spike), "thin-lines");
}

TEST_F(CheckPlates, ThinGaps) {
  const auto gap = [&](double width) { return less(box(5, 5, 35, 35), box(8, 20, 32, 20 + width)); };
  ASSERT_FOUND(f, red(gap(0.4)), "thin-gaps");
  EXPECT_NEAR(f->number, 0.4, 0.02);
  EXPECT_EQ(f->limit, 0.5);
  EXPECT_EQ(f->severity, FindingSeverity::caution);
  EXPECT_NOT_FOUND(red(gap(0.51)), "thin-gaps");
}

/// Letters that a person would read as LTILTI, 2 mm high.
Film letters(double stroke) {
  std::vector<Film> parts;
  for (int i = 0; i < 6; ++i) {
    const double x = 10 + 2.2 * i, y = 15;
    if (i % 3 == 0)
      parts.push_back(sum({box(x, y, x + stroke, y + 2), box(x + stroke, y + 2 - stroke, x + 1.2, y + 2)}));
    if (i % 3 == 1)
      parts.push_back(
          sum({box(x, y, x + 1.4, y + stroke), box(x + 0.6, y + stroke, x + 0.6 + stroke, y + 2)}));
    if (i % 3 == 2) parts.push_back(box(x + 0.5, y, x + 0.5 + stroke, y + 2));
  }
  return sum(parts);
}

TEST_F(CheckPlates, ThinTypeIsToldFromLines) {
  ASSERT_FOUND(f, red(letters(0.25)), "thin-type");
  EXPECT_NEAR(f->number, 0.25, 0.03);
  EXPECT_THAT(f->what, HasSubstr("type 2.0 mm high"));
  EXPECT_THAT(f->what, HasSubstr("6 letters"));
  EXPECT_NEAR(f->at->x.v, 16, 1.5);
  EXPECT_NEAR(f->at->y.v, 16, 0.5);
  EXPECT_NOT_FOUND(f_report, "thin-lines");
  EXPECT_NOT_FOUND(red(letters(0.37)), "thin-type");
}

TEST_F(CheckPlates, TonesUnderTheSmallestDot) {
  // 61-64 at 55 lines an inch holds from 14 %: smallest dot 194 um as an area of a cell of 462 um.
  const Film patch = box(5, 5, 35, 35);
  ASSERT_FOUND(f, red(tint(patch, 0.08)), "light-tones");
  EXPECT_NEAR(f->limit, 13.8, 0.5);
  EXPECT_NEAR(f->number, 8, 0.3);
  EXPECT_NOT_FOUND(red(tint(patch, 0.16)), "light-tones");
  // A fade that runs out is made of all tones alike.
  EXPECT_NOT_FOUND(
      red([](double x, double y, double) { return y > 5 && y < 35 && x > 5 ? (40 - x) / 35 : 0.0; }),
      "light-tones");
}

TEST_F(CheckPlates, TonesThatFillIn) {
  const Film patch = box(5, 5, 35, 35);
  ASSERT_FOUND(f, red(tint(patch, 0.94)), "filled-tones");
  EXPECT_NEAR(f->number, 94, 0.3);
  EXPECT_NOT_FOUND(red(tint(patch, 0.80)), "filled-tones");
}

TEST_F(CheckPlates, FewThreadsOnlyWhereThereAreTints) {
  const Film tones = tint(box(5, 5, 35, 35), 0.5);
  ASSERT_FOUND(f, red(tones), "few-threads");  // 61 x 2.54 / 55
  EXPECT_NEAR(f->number, 2.82, 0.01);
  EXPECT_EQ(f->limit, 3.5);
  EXPECT_NOT_FOUND(red(tones, {}, "77-48"), "few-threads");  // 3.56
  EXPECT_NOT_FOUND(red(box(5, 5, 35, 35)), "few-threads");
}

TEST_F(CheckPlates, BandsBetweenMeshAndDots) {
  const Film tones = tint(box(5, 5, 35, 35), 0.5);
  const auto cautions = [&](const std::string& angle) {
    const CheckReport report = red(tones, "angle = " + angle);
    return std::count_if(report.findings.begin(), report.findings.end(), [](const Finding& f) {
      return f.kind == "moire" && f.severity == FindingSeverity::caution;
    });
  };
  EXPECT_EQ(cautions("52.5"), 1);
  EXPECT_EQ(cautions("22.5"), 0);
}

TEST_F(CheckPlates, BandsBetweenTwoScreens) {
  plate("red", tint(box(5, 5, 35, 35), 0.5));
  plate("navy", tint(box(5, 5, 35, 35), 0.4));
  const auto bands = [&](const std::string& angle) {
    const CheckReport report = check(
        "white-cotton", pass("red", "red", {}, "90-48") + pass("navy", "navy", "angle = " + angle, "90-48"));
    return std::count_if(report.findings.begin(), report.findings.end(), [](const Finding& f) {
      return f.kind == "moire" && f.what.find("between the dots of plates") != std::string::npos;
    });
  };
  EXPECT_EQ(bands("37.5"), 1);  // 15 degrees apart at 55 lines an inch: 25.4 / 55 / (2 sin 7.5) = 1.77 mm
  EXPECT_EQ(bands("22.5"), 0);
}

TEST_F(CheckPlates, SixteenBitsSayTheSame) {
  const Film film = sum({box(5, 20, 35, 20.2), tint(box(5, 25, 35, 35), 0.08), box(5, 5, 35, 10)});
  const CheckReport eight = red(film);
  const double side = kMmPerInch / 300;
  const int n = 472;
  std::vector<std::uint16_t> grey;
  for (int y = 0; y < n; ++y)
    for (int x = 0; x < n; ++x)
      grey.push_back(static_cast<std::uint16_t>(std::lround(65535 - 65535 * film(x * side, y * side, side))));
  write_grey_png(folder_.path() / "red.png", n, n, 300, grey);
  const CheckReport sixteen = check("white-cotton", pass("red", "red"));
  EXPECT_NE(find(sixteen, "thin-lines"), nullptr);
  EXPECT_NE(find(sixteen, "light-tones"), nullptr);
  EXPECT_EQ(kinds(eight), kinds(sixteen));
}

TEST_F(CheckPlates, CurveInThePlateAndInTheOutput) {
  // A fade through a curve on 8-bit pixels leaves greys out where the curve is steep.
  const auto ramp = [](bool curved) {
    return [curved](double x, double y, double) {
      if (x < 5 || x >= 35 || y < 5 || y >= 35) return 0.0;
      const double tone = std::round((x - 5) / 30 * 255) / 255.0;
      return curved ? tone / (tone + 1.86 * (1 - tone)) : tone;
    };
  };
  const std::string output = "curve_on_film = \"output\"";
  ASSERT_FOUND(f, red(ramp(true), output), "curve-twice");
  EXPECT_EQ(f->severity, FindingSeverity::sent_back);
  EXPECT_NOT_FOUND(red(ramp(false), output), "curve-twice");
  EXPECT_NOT_FOUND(red(ramp(true), "curve_on_film = \"plates\""), "curve-twice");
  ASSERT_FOUND(asked, red(ramp(true)), "curve-twice");
  EXPECT_EQ(asked->severity, FindingSeverity::advice);
}

TEST_F(CheckPlates, PassesOfOnePlateAgreeOnTheCurve) {
  plate("red", box(5, 5, 35, 35));
  const auto passes = [](const std::string& second) {
    const std::string hit = "[[pass]]\nplate = \"red\"\nink = \"red\"\nmesh = \"61-64\"\n";
    return "[[plate]]\nname = \"red\"\nfile = \"red.png\"\nink_is = \"dark\"\n" + hit + "flash = true\n" +
           hit + "curve_on_film = \"" + second + "\"\n";
  };
  ASSERT_FOUND(f, check("white-cotton", passes("output")), "curve-twice");
  EXPECT_EQ(f->passes, (std::vector<int>{1, 2}));
  EXPECT_NOT_FOUND(check("white-cotton", passes("none")), "curve-twice");
}

}  // namespace
}  // namespace kirtle::test
