// docs/formats.md names every key that the readers know. The keys come from the readers themselves: a key
// that none knows is answered with the list of those that are.
#include "job/library.h"
#include "job/scene_fixture.h"

#include <fstream>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <iterator>

namespace kirtle {
namespace {

using test::Scenes;

/// Fails for each key in "allowed here: a, b" that the page does not show as `a` or [a]. Returns how many
/// lists it saw.
int check_lists(const std::vector<std::string>& faults) {
  std::ifstream in(KIRTLE_SOURCE_DIR "/docs/formats.md");
  const std::string page{std::istreambuf_iterator<char>(in), {}};
  const std::string mark = "allowed here: ";
  int lists = 0;
  for (const std::string& fault : faults) {
    const std::size_t at = fault.find(mark);
    if (at == std::string::npos) continue;
    ++lists;
    std::string keys = fault.substr(at + mark.size()) + ", ";
    for (std::size_t comma; (comma = keys.find(", ")) != std::string::npos; keys.erase(0, comma + 2)) {
      const std::string key = keys.substr(0, comma);
      const bool shown = page.find('`' + key + '`') != std::string::npos ||
                         page.find('[' + key + ']') != std::string::npos ||
                         page.find('.' + key + ']') != std::string::npos;
      EXPECT_TRUE(shown) << "key " << key << " of: " << fault;
    }
  }
  return lists;
}

TEST_F(Scenes, FormatsPageNamesEveryKeyOfAScene) {
  const std::string odd = "qqqqqqqqqqqq = 1\n";
  const std::vector<std::string> found =
      faults(odd + test::kTop + "[art]\n" + odd + "[compare]\n" + odd + "[view]\n" + odd + "[dryer]\n" + odd +
             "steps = [{ qqqqqqqqqqqq = 1 }]\n" + "[discharge]\n" + odd +
             "[press]\nbad_pallet = { qqqqqqqqqqqq = 1 }\n" + odd + "[model]\n" + odd + test::kPlate + odd +
             test::kPass + odd + "[[pass]]\nplate = \"one\"\nink = \"red\"\nmesh = { qqqqqqqqqqqq = 1 }\n");
  EXPECT_EQ(check_lists(found), 13);
}

TEST_F(Scenes, FormatsPageNamesEveryKeyOfARecord) {
  const std::string odd = "qqqqqqqqqqqq = 1\n";
  const std::string head = odd + "schema = 1\nid = \"x\"\nname = \"x\"\n";
  const std::string provenance = "[provenance]\n" + odd;
  folder_.write("inks/x.toml", head + "family = \"discharge\"\n" + provenance + "[optics]\n" + odd +
                                   "[films]\n" + odd + "[opaque]\n" + odd + "[opaque.hiding]\n" + odd +
                                   "[colour]\n" + odd + "[look]\n" + odd + "[[mix]]\n" + odd);
  folder_.write("shirts/x.toml", head + "knit = { qqqqqqqqqqqq = 1 }\n" + provenance + "[backing]\n" + odd + "[[fibre]]\n" + odd +
                                     "K_per_um = [1]\n[[fibre.dye]]\n" + odd + "[fibre.bare]\n" + odd +
                                     "[fibre.discharged]\n" + odd);
  folder_.write("fibres/x.toml", head + provenance + "[optics]\n" + odd);
  folder_.write("dyes/x.toml", head + provenance + "[optics]\n" + odd);
  folder_.write("meshes/x.toml", head + provenance);
  folder_.write("presses/x.toml", head + provenance);
  Library library({folder_.path()});
  Diagnostics faults;
  library.ink("x", {}, faults);
  library.shirt("x", {}, faults);
  library.fibre("x", {}, faults);
  library.dye("x", {}, faults);
  library.mesh("x", {}, faults);
  library.press("x", {}, faults);
  EXPECT_EQ(check_lists(test::lines_of(faults, folder_)), 9 + 8 + 3 + 3 + 2 + 2);
}

}  // namespace
}  // namespace kirtle
