#include "cmd/test_profiles.h"

#include <gtest/gtest.h>
#include <lcms2.h>

namespace kirtle::test {

namespace {

void save(cmsHPROFILE profile, const std::filesystem::path& file) {
  EXPECT_TRUE(cmsSaveProfileToFile(profile, file.c_str()));
  cmsCloseProfile(profile);
}

void write_table(cmsHPROFILE profile, cmsTagSignature tag, cmsUInt32Number in, cmsUInt32Number out,
                 cmsSAMPLER16 sample) {
  cmsPipeline* pipeline = cmsPipelineAlloc(nullptr, in, out);
  cmsStage* table = cmsStageAllocCLut16bit(nullptr, 3, in, out, nullptr);
  cmsStageSampleCLut16bit(table, sample, nullptr, 0);
  cmsPipelineInsertStage(pipeline, cmsAT_END, cmsStageAllocToneCurves(nullptr, in, nullptr));
  cmsPipelineInsertStage(pipeline, cmsAT_END, table);
  cmsPipelineInsertStage(pipeline, cmsAT_END, cmsStageAllocToneCurves(nullptr, out, nullptr));
  EXPECT_TRUE(cmsWriteTag(profile, tag, pipeline));
  cmsPipelineFree(pipeline);
}

}  // namespace

void save_wide_rgb(const std::filesystem::path& file) {
  const cmsCIExyYTRIPLE primaries{{0.70, 0.28, 1}, {0.18, 0.74, 1}, {0.14, 0.06, 1}};
  const cmsCIExyY white{0.3457, 0.3585, 1};
  cmsToneCurve* gamma = cmsBuildGamma(nullptr, 2.2);
  cmsToneCurve* curves[]{gamma, gamma, gamma};
  save(cmsCreateRGBProfile(&white, &primaries, curves), file);
  cmsFreeToneCurve(gamma);
}

void save_black_only_cmyk(const std::filesystem::path& file) {
  const cmsHPROFILE p = cmsCreateProfilePlaceholder(nullptr);
  cmsSetProfileVersion(p, 4.3);
  cmsSetDeviceClass(p, cmsSigOutputClass);
  cmsSetColorSpace(p, cmsSigCmykData);
  cmsSetPCS(p, cmsSigLabData);
  write_table(p, cmsSigBToA0Tag, 3, 4, [](const cmsUInt16Number in[], cmsUInt16Number out[], void*) -> int {
    out[0] = out[1] = out[2] = 0;
    out[3] = static_cast<cmsUInt16Number>(65535 - in[0]);
    return 1;
  });
  write_table(p, cmsSigAToB0Tag, 4, 3, [](const cmsUInt16Number in[], cmsUInt16Number out[], void*) -> int {
    out[0] = static_cast<cmsUInt16Number>(65535 - in[3]);
    out[1] = out[2] = 0x8080;
    return 1;
  });
  save(p, file);
}

}  // namespace kirtle::test
