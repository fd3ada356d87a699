#include "print/cell_form_lanes.inl"

namespace kirtle {

void detail::mix_lanes_avx2(const float* c, int plates, FormLanes& lanes) { mix_all(c, plates, lanes); }

}  // namespace kirtle
