#include "light/icc_output.h"

#include "base/check.h"
#include "base/diagnostics.h"
#include "base/parallel.h"
#include "light/adapt.h"
#include "light/delta_e_2000.h"
#include "light/random_numbers.h"
#include "light/srgb.h"
#include "light/weights.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <lcms2.h>
#include <string>
#include <vector>

namespace kirtle {
namespace {

namespace fs = std::filesystem;

const XYZ kD50 = viewing_weights("D50", Observer::cie1931_2deg).white;
const XYZ kD65 = viewing_weights("D65", Observer::cie1931_2deg).white;

IccSettings settings(const XYZ& white, Intent intent = Intent::relative, bool black = false) {
  return {white, intent, black};
}

fs::path scratch_file(const std::string& name) {
  return fs::path(testing::TempDir()) /
         (std::string(testing::UnitTest::GetInstance()->current_test_info()->name()) + "-" + name);
}

void write_bytes(const fs::path& file, std::span<const std::byte> bytes) {
  std::ofstream out(file, std::ios::binary);
  out.write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
}

std::vector<std::byte> copy_of(std::span<const std::byte> bytes) { return {bytes.begin(), bytes.end()}; }

std::string refusal(const fs::path& file) {
  try {
    IccOutput::from_file(file, settings(kD50));
  } catch (const InputError& e) {
    return e.what();
  }
  return "accepted";
}

std::string refusal(std::span<const std::byte> bytes) {
  try {
    IccOutput::from_bytes(bytes, "p.icc", settings(kD50));
  } catch (const InputError& e) {
    return e.what();
  }
  return "accepted";
}

std::vector<std::byte> saved(cmsHPROFILE profile) {
  cmsUInt32Number size = 0;
  cmsSaveProfileToMem(profile, nullptr, &size);
  std::vector<std::byte> bytes(size);
  cmsSaveProfileToMem(profile, bytes.data(), &size);
  cmsCloseProfile(profile);
  return bytes;
}

void put_big_endian(std::vector<std::byte>& bytes, std::size_t at, std::uint32_t value) {
  for (std::size_t i = 0; i < 4; ++i) bytes[at + i] = static_cast<std::byte>(value >> (24 - 8 * i) & 0xff);
}

/// 16-bit device values to Lab as any reader of the picture would: a plain lcms2 transform from the embedded
/// bytes.
std::vector<Lab> read_back(const IccOutput& output, std::span<const std::uint16_t> codes) {
  const std::size_t n = output.channels();
  const auto bytes = output.profile_bytes();
  const cmsHPROFILE profile = cmsOpenProfileFromMem(bytes.data(), static_cast<cmsUInt32Number>(bytes.size()));
  const cmsHPROFILE lab = cmsCreateLab4Profile(nullptr);
  const cmsUInt32Number format = n == 1 ? TYPE_GRAY_16 : n == 3 ? TYPE_RGB_16 : TYPE_CMYK_16;
  const cmsHTRANSFORM transform =
      cmsCreateTransform(profile, format, lab, TYPE_Lab_DBL, INTENT_RELATIVE_COLORIMETRIC, 0);
  std::vector<cmsCIELab> out(codes.size() / n);
  cmsDoTransform(transform, codes.data(), out.data(), static_cast<cmsUInt32Number>(out.size()));
  cmsDeleteTransform(transform);
  cmsCloseProfile(lab);
  cmsCloseProfile(profile);
  std::vector<Lab> labs;
  for (const cmsCIELab& c : out) labs.push_back({c.L, c.a, c.b});
  return labs;
}

struct Sample {
  std::vector<float> xyz;
  std::vector<Lab> lab;
};

/// Colours inside sRGB, hence inside every wider RGB space: dark ones often, where codes are coarsest.
Sample srgb_sample(const XYZ& white, bool grey) {
  test::RandomNumbers random(7);
  Sample s;
  for (int i = 0; i < 20000; ++i) {
    const double dim = i % 3 == 0 ? 0.02 : 1.0;
    const double r = dim * random.between(0, 1);
    const XYZ xyz = xyz_from_linear_srgb(
        {r, grey ? r : dim * random.between(0, 1), grey ? r : dim * random.between(0, 1)}, white);
    for (const double v : {xyz.x, xyz.y, xyz.z}) s.xyz.push_back(static_cast<float>(v));
    s.lab.push_back(lab_from_xyz(bradford(white, kPcsWhite) * xyz, kPcsWhite));
  }
  return s;
}

double worst_read_back(const IccOutput& output, const Sample& sample, GamutReport& report) {
  std::vector<std::uint16_t> codes(sample.lab.size() * output.channels());
  output.convert16(sample.xyz, codes, &report);
  const std::vector<Lab> got = read_back(output, codes);
  double worst = 0;
  for (std::size_t i = 0; i < got.size(); ++i) worst = std::max(worst, delta_e_2000(got[i], sample.lab[i]));
  return worst;
}

TEST(IccOutput, SrgbReadsBackToTheSameLab) {
  for (const XYZ& white : {kD50, kD65}) {
    const IccOutput output = IccOutput::srgb(settings(white));
    EXPECT_EQ(output.channels(), 3u);
    EXPECT_EQ(output.description(), "sRGB (IEC 61966-2-1)");
    GamutReport report;
    const double worst = worst_read_back(output, srgb_sample(white, false), report);
    std::printf("built-in sRGB at 16 bits reads back within dE00 %.4f\n", worst);
    EXPECT_LT(worst, 0.1);
    EXPECT_EQ(report.colours, 20000u);
    EXPECT_EQ(report.outside, 0u);
    EXPECT_LT(report.largest_de00, 0.1);
  }
}

TEST(IccOutput, InstalledProfilesReadBackToTheSameLab) {
  // All hold every sRGB colour but for the rounding of their primaries, which the report must show as no
  // loss.
  const fs::path folder = "/usr/share/color/icc";
  int found = 0;
  for (const char* name : {"sRGB.icc", "colord/sRGB.icc", "colord/ProPhotoRGB.icc", "colord/WideGamutRGB.icc",
                           "colord/BestRGB.icc", "Gray-CIE_L.icc", "Gray.icc"}) {
    if (!fs::exists(folder / name)) continue;
    ++found;
    SCOPED_TRACE(name);
    const IccOutput output = IccOutput::from_file(folder / name, settings(kD50));
    GamutReport report;
    const double worst = worst_read_back(output, srgb_sample(kD50, output.channels() == 1), report);
    std::printf("%s (%s) at 16 bits reads back within dE00 %.4f, report %.4f\n", name,
                output.description().c_str(), worst, report.largest_de00);
    EXPECT_LT(worst, 0.1);
    EXPECT_LT(report.largest_de00, 0.1);
    EXPECT_EQ(report.outside, 0u);
  }
  if (found == 0) GTEST_SKIP() << "no profiles are installed (Debian: icc-profiles-free, colord-data)";
}

// Two routes to sRGB that share nothing but the standard: lcms2's and ours.
TEST(IccOutput, SrgbAgreesWithSrgbEncoder) {
  const IccOutput output = IccOutput::srgb(settings(kD50));
  const SrgbEncoder encoder(kD50);
  const Sample sample = srgb_sample(kD50, false);
  std::vector<std::uint8_t> codes(sample.xyz.size());
  output.convert8(sample.xyz, codes, nullptr);
  int worst = 0;
  for (std::size_t i = 0; i < sample.lab.size(); ++i) {
    const Rgb8 ours = encoder.encode8({sample.xyz[3 * i], sample.xyz[3 * i + 1], sample.xyz[3 * i + 2]});
    for (std::size_t c = 0; c < 3; ++c) worst = std::max(worst, std::abs(ours[c] - codes[3 * i + c]));
  }
  EXPECT_LE(worst, 1);  // the standard's matrix is printed to 4 decimals; lcms2 works from the primaries
}

TEST(IccOutput, WhiteIsWhiteAndBytesAreTheSameEveryTime) {
  const IccOutput one = IccOutput::srgb(settings(kD65)), two = IccOutput::srgb(settings(kD50));
  EXPECT_EQ(copy_of(one.profile_bytes()), copy_of(two.profile_bytes()));
  const std::array<float, 6> pixels = {
      static_cast<float>(kD65.x), 100.0F, static_cast<float>(kD65.z), 0, 0, 0};
  std::array<std::uint16_t, 6> codes{};
  one.convert16(pixels, codes, nullptr);
  EXPECT_THAT(codes, testing::ElementsAre(65535, 65535, 65535, 0, 0, 0));
}

TEST(IccOutput, ReportNamesWhatFellOutside) {
  const IccOutput output = IccOutput::srgb(settings(kPcsWhite));
  const Lab green{60, -120, 60};
  std::vector<float> row;
  for (const Lab& lab : {Lab{50, 0, 0}, green, green, Lab{70, 10, 10}}) {
    const XYZ xyz = xyz_from_lab(lab, kPcsWhite);
    for (const double v : {xyz.x, xyz.y, xyz.z}) row.push_back(static_cast<float>(v));
  }
  std::vector<std::uint8_t> codes(row.size());
  GamutReport report, other;
  output.convert8(row, codes, &report);
  EXPECT_EQ(report.colours, 4u);
  EXPECT_EQ(report.outside, 2u);
  EXPECT_NEAR(report.worst_asked.a, green.a, 1e-3);
  EXPECT_NEAR(report.largest_de00, delta_e_2000(report.worst_asked, report.worst_given), 1e-12);
  EXPECT_GT(report.largest_de00, 5.0);
  other.merge(report);
  other.merge(GamutReport{});
  EXPECT_EQ(other.colours, 4u);
  EXPECT_EQ(other.outside, 2u);
  EXPECT_EQ(other.largest_de00, report.largest_de00);
  EXPECT_EQ(other.worst_asked, report.worst_asked);
}

TEST(IccOutput, SameBytesOnAnyNumberOfThreadsAndInRuns) {
  const IccOutput output = IccOutput::srgb(settings(kD50));
  const Sample sample = srgb_sample(kD50, false);
  std::vector<std::uint16_t> whole(sample.xyz.size()), parts(sample.xyz.size());
  output.convert16(sample.xyz, whole, nullptr);
  constexpr std::size_t kRow = 3 * 100;
  parallel_for(sample.xyz.size() / kRow, 4, [&](std::size_t row, unsigned) {
    output.convert16(std::span(sample.xyz).subspan(row * kRow, kRow),
                     std::span(parts).subspan(row * kRow, kRow), nullptr);
  });
  EXPECT_EQ(whole, parts);
}

/// A stage of straight curves; version 4 tables stand between two of them.
void add_curves(cmsPipeline* to, cmsUInt32Number channels) {
  cmsPipelineInsertStage(to, cmsAT_END, cmsStageAllocToneCurves(nullptr, channels, nullptr));
}

/// A CMYK profile as simple as the format allows. How the darkness 1 - L*/100 is printed tells the tables
/// apart: perceptual with C, M, Y alike, relative with K, saturation with C and M.
std::vector<std::byte> cmyk_profile() {
  const cmsHPROFILE p = cmsCreateProfilePlaceholder(nullptr);
  cmsSetProfileVersion(p, 4.3);
  cmsSetDeviceClass(p, cmsSigOutputClass);
  cmsSetColorSpace(p, cmsSigCmykData);
  cmsSetPCS(p, cmsSigLabData);
  const std::array<std::array<int, 4>, 3> inks = {{{1, 1, 1, 0}, {0, 0, 0, 1}, {1, 1, 0, 0}}};
  const std::array<cmsTagSignature, 3> tags = {cmsSigBToA0Tag, cmsSigBToA1Tag, cmsSigBToA2Tag};
  for (std::size_t t = 0; t < 3; ++t) {
    cmsPipeline* back = cmsPipelineAlloc(nullptr, 3, 4);
    cmsStage* table = cmsStageAllocCLut16bit(nullptr, 3, 3, 4, nullptr);
    std::array<int, 4> ink = inks[t];
    cmsStageSampleCLut16bit(
        table,
        [](const cmsUInt16Number in[], cmsUInt16Number out[], void* used) -> cmsInt32Number {
          for (std::size_t c = 0; c < 4; ++c)
            out[c] =
                static_cast<cmsUInt16Number>((65535 - in[0]) * (*static_cast<std::array<int, 4>*>(used))[c]);
          return 1;
        },
        &ink, 0);
    add_curves(back, 3);
    cmsPipelineInsertStage(back, cmsAT_END, table);
    add_curves(back, 4);
    cmsWriteTag(p, tags[t], back);
    cmsPipelineFree(back);
  }
  cmsPipeline* there = cmsPipelineAlloc(nullptr, 4, 3);
  cmsStage* table = cmsStageAllocCLut16bit(nullptr, 3, 4, 3, nullptr);
  cmsStageSampleCLut16bit(
      table,
      [](const cmsUInt16Number in[], cmsUInt16Number out[], void*) -> cmsInt32Number {
        out[0] = static_cast<cmsUInt16Number>(std::max(0, 65535 - (in[0] + in[1] + in[2]) / 3 - in[3]));
        out[1] = out[2] = 0x8080;
        return 1;
      },
      nullptr, 0);
  add_curves(there, 4);
  cmsPipelineInsertStage(there, cmsAT_END, table);
  add_curves(there, 3);
  cmsWriteTag(p, cmsSigAToB0Tag, there);
  cmsPipelineFree(there);
  return saved(p);
}

TEST(IccOutput, CmykCodesAreInkAndTheIntentPicksTheTable) {
  const std::vector<std::byte> profile = cmyk_profile();
  std::vector<float> row;
  for (const double l : {100.0, 50.0, 0.0}) {
    const XYZ xyz = xyz_from_lab({l, 0, 0}, kPcsWhite);
    for (const double v : {xyz.x, xyz.y, xyz.z}) row.push_back(static_cast<float>(v));
  }
  const auto codes = [&](Intent intent, GamutReport* report) {
    const IccOutput output = IccOutput::from_bytes(profile, "cmyk", settings(kPcsWhite, intent));
    EXPECT_EQ(output.channels(), 4u);
    std::vector<std::uint8_t> out(12);
    output.convert8(row, out, report);
    return out;
  };
  const auto half = testing::AnyOf(127, 128);
  GamutReport report;
  EXPECT_THAT(codes(Intent::relative, &report),
              testing::ElementsAre(0, 0, 0, 0, 0, 0, 0, half, 0, 0, 0, 255));
  EXPECT_EQ(report.outside, 0u);
  EXPECT_LT(report.largest_de00, 0.1);
  // ICC.1:2022 6.3.3: the black of the version 4 perceptual reference medium reflects 0.34731 %, L* 3.137.
  // Black of the picture goes there, and these tables then print 255 (1 - 0.03137) = 247.
  EXPECT_THAT(codes(Intent::perceptual, nullptr),
              testing::ElementsAre(0, 0, 0, 0, half, half, half, 0, 247, 247, 247, 0));
  EXPECT_THAT(codes(Intent::saturation, nullptr),
              testing::ElementsAre(0, 0, 0, 0, half, half, 0, 0, 247, 247, 0, 0));
}

/// An RGB print on paper of 80 % whose black is 5 % of it: light = 0.05 + 0.95 code^2, relative to the paper.
std::vector<std::byte> pale_print_profile() {
  const cmsCIExyY white{0.3127, 0.3290, 1};
  const cmsCIExyYTRIPLE primaries{{0.64, 0.33, 1}, {0.30, 0.60, 1}, {0.15, 0.06, 1}};
  const double parameters[] = {2.0, std::sqrt(0.95), 0.0, 0.05};
  cmsToneCurve* tone = cmsBuildParametricToneCurve(nullptr, 6, parameters);
  cmsToneCurve* tones[3] = {tone, tone, tone};
  const cmsHPROFILE p = cmsCreateRGBProfile(&white, &primaries, tones);
  cmsFreeToneCurve(tone);
  cmsSetProfileVersion(p, 2.1);
  cmsSetDeviceClass(p, cmsSigOutputClass);
  const cmsCIEXYZ paper{0.8 * 0.9642, 0.8, 0.8 * 0.8249};
  cmsWriteTag(p, cmsSigMediaWhitePointTag, &paper);
  return saved(p);
}

TEST(IccOutput, AbsoluteIntentAndBlackPointCompensation) {
  const std::vector<std::byte> profile = pale_print_profile();
  const auto code_of_grey = [&](double grey, Intent intent, bool black) {
    const std::vector<float> pixel = {static_cast<float>(grey * kD65.x), static_cast<float>(grey * kD65.y),
                                      static_cast<float>(grey * kD65.z)};
    std::vector<std::uint16_t> codes(3);
    IccOutput::from_bytes(profile, "print", settings(kD65, intent, black)).convert16(pixel, codes, nullptr);
    EXPECT_NEAR(codes[0], codes[1], 30);
    EXPECT_NEAR(codes[0], codes[2], 30);
    return codes[1] / 65535.0;
  };
  // Relative: white is paper. Darker than the device's black is cut, unless the whole range is moved onto it.
  EXPECT_NEAR(code_of_grey(1, Intent::relative, false), 1, 1e-3);
  EXPECT_NEAR(code_of_grey(0.8, Intent::relative, false), std::sqrt((0.8 - 0.05) / 0.95), 1e-3);
  EXPECT_NEAR(code_of_grey(0.01, Intent::relative, false), 0, 1e-3);
  EXPECT_NEAR(code_of_grey(0.01, Intent::relative, true), std::sqrt(0.01), 3e-3);
  EXPECT_NEAR(code_of_grey(1, Intent::relative, true), 1, 1e-3);
  // Absolute: 80 % is the bare paper, and brighter is cut.
  EXPECT_NEAR(code_of_grey(0.8, Intent::absolute, false), 1, 1e-3);
  EXPECT_NEAR(code_of_grey(0.9, Intent::absolute, false), 1, 1e-3);
  EXPECT_NEAR(code_of_grey(0.4, Intent::absolute, false), std::sqrt((0.5 - 0.05) / 0.95), 1e-3);
}

TEST(IccOutput, BadProfilesAreRefusedWithAReason) {
  const fs::path missing = scratch_file("missing.icc");
  EXPECT_EQ(refusal(missing), missing.string() + ": error: no such ICC profile\n  fix: check the path");
  EXPECT_EQ(refusal(fs::path(testing::TempDir())),
            testing::TempDir() + ": error: is not a file\n  fix: give an ICC profile file");

  const fs::path text = scratch_file("text.icc");
  write_bytes(text, std::vector<std::byte>(200, std::byte{'x'}));
  EXPECT_THAT(refusal(text), testing::HasSubstr("is not an ICC profile (no \"acsp\" at byte 36)"));
  write_bytes(text, {});
  EXPECT_THAT(refusal(text), testing::HasSubstr("is 0 bytes long; an ICC profile has at least 132"));
  fs::remove(text);

  const std::vector<std::byte> good = copy_of(IccOutput::srgb(settings(kD50)).profile_bytes());
  const std::size_t size = good.size();
  EXPECT_EQ(refusal(std::span(good).first(size - 1)),
            "p.icc: error: is cut short: its header says " + std::to_string(size) + " bytes, the file has " +
                std::to_string(size - 1) + "\n  fix: copy the profile again from where it came");
  EXPECT_EQ(refusal(good), "accepted");
  std::vector<std::byte> longer = good;
  longer.push_back(std::byte{0});
  EXPECT_EQ(IccOutput::from_bytes(longer, "p.icc", settings(kD50)).profile_bytes().size(), size);

  std::vector<std::byte> tags = good;
  put_big_endian(tags, 128, 0x7fffffff);  // the count of tags
  EXPECT_THAT(refusal(tags),
              testing::HasSubstr("is damaged: its table of tags cannot be read (Too many tags"));
  std::vector<std::byte> tiny = good;
  put_big_endian(tiny, 0, 10);
  EXPECT_THAT(refusal(tiny), testing::HasSubstr("is damaged: its header says that it is 10 bytes long"));
  std::vector<std::byte> none = good;
  put_big_endian(none, 128, 0);  // a profile without tags
  EXPECT_THAT(refusal(none), testing::HasSubstr("is damaged: it has no usable way"));

  EXPECT_THAT(
      refusal(saved(cmsCreateLab4Profile(nullptr))),
      testing::HasSubstr("is a profile of class \"abst\"; allowed are display (mntr), output (prtr)"));
  std::vector<std::byte> scanner = good;
  put_big_endian(scanner, 12, cmsSigInputClass);
  EXPECT_THAT(refusal(scanner), testing::HasSubstr("is a profile of class \"scnr\""));
  std::vector<std::byte> lab = good;
  put_big_endian(lab, 16, cmsSigLabData);
  EXPECT_THAT(refusal(lab),
              testing::HasSubstr("is for colours of kind \"Lab\"; allowed are GRAY, RGB and CMYK"));
}

// Any single damaged byte or cut may be refused or give wrong colours, but must not crash or leak (run under
// sanitizers).
TEST(IccOutput, DamagedBytesDoNoHarm) {
  const std::vector<std::byte> good = copy_of(IccOutput::srgb(settings(kD50)).profile_bytes());
  const std::vector<float> pixel = {30, 30, 30};
  std::vector<std::uint8_t> codes(3);
  test::RandomNumbers random(8);
  int refused = 0;
  for (int i = 0; i < 600; ++i) {
    std::vector<std::byte> bad = good;
    bad[random.next() % bad.size()] = static_cast<std::byte>(random.next());
    bad[128 + random.next() % (bad.size() - 128)] = static_cast<std::byte>(random.next());
    try {
      const IccOutput output = IccOutput::from_bytes(bad, "p.icc", settings(kD50));
      if (output.channels() == 3) output.convert8(pixel, codes, nullptr);
    } catch (const InputError&) {
      ++refused;
    }
  }
  EXPECT_GT(refused, 0);
}

TEST(IccOutput, SizesAndNan) {
  const IccOutput output = IccOutput::srgb(settings(kD50));
  std::vector<float> row = {10, 10, 10};
  std::vector<std::uint8_t> codes(3), few(2);
  EXPECT_THROW(output.convert8(row, few, nullptr), InternalError);
  EXPECT_THROW(output.convert8(std::span(row).first(2), few, nullptr), InternalError);
  output.convert8({}, {}, nullptr);
  row[1] = std::nanf("");
  EXPECT_THROW(output.convert8(row, codes, nullptr), InternalError);
  row[1] = INFINITY;
  EXPECT_THROW(output.convert8(row, codes, nullptr), InternalError);
  EXPECT_THROW(IccOutput::srgb(settings({0, 0, 0})), InternalError);
}

}  // namespace
}  // namespace kirtle
