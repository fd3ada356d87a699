#include "light/metamerism.h"

#include "base/check.h"
#include "light/delta_e_2000.h"

namespace kirtle {
namespace {

double corrected(double second_test, double first_reference, double second_reference) {
  constexpr double kNoLight = 1e-6;
  return second_reference < kNoLight ? second_test : second_test * first_reference / second_reference;
}

}  // namespace

Metamerism metamerism(const Spectrum& first, const Spectrum& second, const ViewingWeights& reference,
                      const ViewingWeights& test) {
  KIRTLE_CHECK(static_cast<int>(reference.observer), ==, static_cast<int>(test.observer));
  const XYZ first_reference = xyz_from_reflectance(first, reference);
  const XYZ second_reference = xyz_from_reflectance(second, reference);
  const XYZ first_test = xyz_from_reflectance(first, test);
  const XYZ second_test = xyz_from_reflectance(second, test);
  const XYZ second_corrected{corrected(second_test.x, first_reference.x, second_reference.x),
                             corrected(second_test.y, first_reference.y, second_reference.y),
                             corrected(second_test.z, first_reference.z, second_reference.z)};
  Metamerism out;
  out.reference_de00 = delta_e_2000(lab_from_xyz(first_reference, reference.white),
                                    lab_from_xyz(second_reference, reference.white));
  out.index_de00 =
      delta_e_2000(lab_from_xyz(first_test, test.white), lab_from_xyz(second_corrected, test.white));
  return out;
}

}  // namespace kirtle
