#pragma once
// Drawn shirts side by side at one scale, with the print's size written beside it. For customer_proof.cpp.
#include "proof/page.h"
#include "proof/print_study.h"

namespace kirtle {

struct PanelShirt {
  std::string caption;  ///< "S, the smallest ordered"
  ShirtSize size = ShirtSize::s;
  double print_width_mm = 0;  ///< as this size gets it
  double drop_mm = 0;
};
/// On the study's shirt number `shirt`.
void place_garments(Page& page, const std::string& name, const PageBox& box, const PrintStudy& study,
                    std::size_t shirt, const std::vector<PanelShirt>& shirts, bool measures);

}  // namespace kirtle
