// Draws the plates of the demo scenes as grey PNG film positives (dark is ink).
#include "art/subjects.h"
#include "plate/io/write_picture.h"

#include <charconv>
#include <exception>
#include <filesystem>
#include <iostream>
#include <string_view>
#include <system_error>
#include <vector>

namespace {

struct Subject {
  std::string_view name;
  std::vector<kirtle::art::Plate> (*draw)(double ppi);
};

constexpr Subject kSubjects[] = {
    {"moth", kirtle::art::draw_moth},
    {"botanical", kirtle::art::draw_botanical},
    {"reef", kirtle::art::draw_reef},
};

int usage() {
  std::cerr << "usage: kirtle-scene-art SUBJECT OUTDIR [--ppi N]\n  SUBJECT:";
  for (const Subject& s : kSubjects) std::cerr << ' ' << s.name;
  std::cerr << "\n  --ppi N: pixels per inch, 20 to 1200 (300)\n";
  return 2;
}

bool parse_ppi(std::string_view text, double& ppi) {
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), ppi);
  return error == std::errc{} && end == text.data() + text.size() && ppi >= 20 && ppi <= 1200;
}

}  // namespace

int main(int argc, char** argv) try {
  const std::vector<std::string_view> args(argv + 1, argv + argc);
  double ppi = 300;
  if (args.size() != 2 && !(args.size() == 4 && args[2] == "--ppi" && parse_ppi(args[3], ppi)))
    return usage();
  for (const Subject& subject : kSubjects) {
    if (subject.name != args[0]) continue;
    const std::filesystem::path folder(args[1]);
    std::filesystem::create_directories(folder);
    for (const kirtle::art::Plate& plate : subject.draw(ppi)) {
      const auto film = kirtle::art::film_positive(plate.ink);
      kirtle::write_grey_png(folder / (plate.name + ".png"), plate.ink.width(), plate.ink.height(), ppi,
                             film);
    }
    return 0;
  }
  return usage();
} catch (const std::exception& e) {
  std::cerr << "kirtle-scene-art: " << e.what() << '\n';
  return 1;
}
