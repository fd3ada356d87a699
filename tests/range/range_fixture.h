#pragma once
// Small designs for the tests of range, and what range makes of them.
#include "check/job_fixture.h"
#include "job/library.h"
#include "range/range.h"

namespace kirtle::test {

class Ranges : public Jobs {
 protected:
  /// A light square with a darker disc-like bar on it, 20 x 20 mm at 150 per inch.
  void two_plates() {
    plate("light", box(3, 3, 17, 17), 150, 20);
    plate("dark", sum({box(6, 6, 9, 14), tint(box(10, 6, 14, 14), 0.5)}), 150, 20);
  }
  Scene discharge_scene(const std::string& shirt = "black-cotton") {
    two_plates();
    return scene(shirt, pass("light", "discharge-cream") + pass("dark", "wb-dark-brown"));
  }
  Scene based_scene(const std::string& shirt = "black-cotton") {
    plate("base", box(3.2, 3.2, 16.8, 16.8), 150, 20);
    plate("red", box(3, 3, 17, 17), 150, 20);
    return scene(shirt, pass("base", "base-white", "strokes = 2\nflash = true") + pass("red", "red"));
  }
  Scene bare_scene(const std::string& shirt = "white-cotton") {
    plate("red", box(3, 3, 17, 17), 150, 20);
    plate("black", box(6, 6, 9, 14), 150, 20);
    return scene(shirt, pass("red", "red") + pass("black", "black"));
  }

  /// Everything about one scene, kept alive together.
  struct Made {
    explicit Made(const Scene& of) : scene(of) {
      Diagnostics notes, faulty;
      plates = read_printing_plates(scene, notes);
      SharedImages images;
      for (const PlateImage& image : plates->images) images.emplace_back(plates, &image);
      known = std::make_unique<PlateCheck>(scene, images, plates->ppi, CheckSettings{});
      library = std::make_unique<Library>(scene.data_folders);
      inks = library->all_inks(faulty);
      bases = known->bases();
      designs = make_designs(scene, plates, bases, inks, 1);
      judge = std::make_unique<RangeJudge>(designs, *known, 16, 1);
    }
    Cloth shirt(const std::string& id) const {
      Diagnostics faults;
      const Cloth* cloth = library->shirt(id, {}, faults);
      faults.throw_if_errors();
      return *cloth;
    }
    std::vector<Cloth> shirts() const {
      Diagnostics faults;
      return library->all_shirts(faults);
    }
    std::size_t of(RangeVariant variant) const {
      for (std::size_t i = 0; i < designs.designs.size(); ++i)
        if (designs.designs[i].variant == variant) return i;
      return designs.designs.size();
    }
    const RangeDesign& design(RangeVariant variant) const { return designs.designs.at(of(variant)); }
    RangeFigures on(const std::string& id, RangeVariant variant) const {
      return judge->on(shirt(id)).at(of(variant));
    }

    Scene scene;
    std::shared_ptr<const PlateSet> plates;
    std::unique_ptr<PlateCheck> known;
    std::unique_ptr<Library> library;
    std::vector<Ink> inks;
    std::vector<int> bases;
    RangeDesigns designs;
    std::unique_ptr<RangeJudge> judge;
  };

  static bool says(const RangeFigures& f, const std::string& kind) {
    return std::any_of(f.why.begin(), f.why.end(), [&](const RangeReason& r) { return r.kind == kind; });
  }

  RangeOptions options(const std::string& folder, std::vector<std::string> shirts) const {
    RangeOptions out;
    out.shirts = std::move(shirts);
    if (!folder.empty()) out.folder = folder_.path() / folder;
    out.version = "test";
    out.picture_height = 12;
    out.threads = 2;
    return out;
  }
};

}  // namespace kirtle::test
