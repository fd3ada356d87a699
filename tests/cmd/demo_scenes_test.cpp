// Demonstration materials through files: record, scene, program, JSON. Nothing here links the model.
//
// Truth: an independent script with its own Kubelka-Munk, discharge and colour code (D50, 2 degree observer,
// 10 nm sum), 1024 sublayers where the cloth is graded, a full surface (k1 .04, k2 .6) where it is glossy.
// Tolerance: .01 for what the script's last digit, a surface that fades in and float tables may add up to;
// .05 where the cloth is cut into fewer sublayers.
#include "cmd/command_test.h"

namespace kirtle::test {
namespace {

struct Case {
  const char* name;
  const char* scene;
  const char* printed;
  const char* shirt;  // null = the scene's
  double l, a, b;
  double tolerance;
};

constexpr Case kCases[] = {
    {"black cloth", "films", "base=0", nullptr, 18.0648, -0.0014, 0.0039, .01},
    {"undyed cloth", "films", "base=0", "demo-undyed", 91.0309, -0.2460, 0.6664, .01},
    {"white on black", "films", "base=100", nullptr, 93.8016, -1.1095, -0.5764, .01},
    {"yellow on white", "films", "base=100,yellow=100", nullptr, 81.2134, 21.7133, 113.6562, .01},
    {"yellow on black", "films", "yellow=100", nullptr, 47.7269, 8.2931, 58.8513, .01},
    {"glossy yellow on white", "glossy-film", "base=100,yellow=100", nullptr, 73.5383, 24.4424, 81.4524, .01},
    {"half red on white, n = 2", "red-tint", "base=100,red=50", nullptr, 64.2125, 22.5126, 7.0032, .01},
    {"clear discharge on black", "clear-discharge", "clear=100", nullptr, 76.947, -0.092, 0.249, .05},
    {"yellow discharge on black", "yellow-discharge", "yellow=100", nullptr, 71.705, 7.244, 70.779, .05},
};

TEST(DemoScenes, ProbeGivesTheIndependentColours) {
  for (const Case& c : kCases) {
    SCOPED_TRACE(c.name);
    std::vector<std::string> arguments{"probe",
                                       std::string(KIRTLE_TEST_DATA "/demo_scenes/") + c.scene + ".toml",
                                       "--printed", c.printed, "--json"};
    if (c.shirt != nullptr) arguments.insert(arguments.end(), {"--shirt", c.shirt});
    const ProgramRun run = run_kirtle(arguments);
    ASSERT_EQ(run.status, 0) << run.err;
    EXPECT_EQ(run.err, "");
    const nlohmann::json lab = nlohmann::json::parse(run.out).at("Lab");
    EXPECT_NEAR(lab.at(0), c.l, c.tolerance);
    EXPECT_NEAR(lab.at(1), c.a, c.tolerance);
    EXPECT_NEAR(lab.at(2), c.b, c.tolerance);
  }
}

// By hand: 60 um wet without solvent is 60 um dry; 50 um wet at 30 % solids is 15 um, with .12 g/cm3 6 g/m2.
TEST(DemoScenes, ProbeGivesTheDeposits) {
  const auto probe = [](const std::string& scene, const std::string& printed) {
    return nlohmann::json::parse(run_kirtle({"probe", KIRTLE_TEST_DATA "/demo_scenes/" + scene + ".toml",
                                             "--printed", printed, "--json"})
                                     .out);
  };
  const nlohmann::json films = probe("films", "base=100,yellow=100");
  EXPECT_NEAR(films.at("ink_build_um"), 85, 1e-9);
  EXPECT_NEAR(films.at("wet_load_cm3_per_m2"), 85, 1e-9);
  EXPECT_NEAR(films.at("soaked_um"), 0, 1e-9);
  ASSERT_GE(films.at("stack_from_top").size(), 3u);
  EXPECT_EQ(films.at("stack_from_top").at(0).at("what"), "Demo yellow");
  EXPECT_NEAR(films.at("stack_from_top").at(0).at("um"), 25, 1e-9);
  EXPECT_EQ(films.at("stack_from_top").at(1).at("what"), "Demo white");
  EXPECT_NEAR(films.at("stack_from_top").at(1).at("um"), 60, 1e-9);

  const nlohmann::json soaked = probe("yellow-discharge", "yellow=100");
  EXPECT_NEAR(soaked.at("soaked_um"), 15, 1e-6);
  EXPECT_NEAR(soaked.at("wet_load_cm3_per_m2"), 50, 1e-9);
  EXPECT_NEAR(soaked.at("agent_g_per_m2"), 6, 1e-9);
  EXPECT_NEAR(soaked.at("ink_build_um"), 0, 1e-6);
}

// A tint is the mean of what is printed and what is not: half the base.
TEST(DemoScenes, MeansFollowCoverage) {
  const nlohmann::json half = nlohmann::json::parse(
      run_kirtle({"probe", KIRTLE_TEST_DATA "/demo_scenes/films.toml", "--printed", "base=50", "--json"})
          .out);
  EXPECT_NEAR(half.at("ink_build_um"), 30, 1e-9);
}

}  // namespace
}  // namespace kirtle::test
