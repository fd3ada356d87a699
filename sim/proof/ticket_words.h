#pragma once
// Sentences of the press ticket.
#include "predict/ink_used.h"
#include "proof/print_study.h"

namespace kirtle {

/// Where an operator looks first, a sentence a place; one that says why if there is none.
std::vector<std::string> watch_texts(const PrintStudy& study);

/// The dryer as the scene states it; empty if it does not: it is never made up.
std::string dryer_text(const Scene& scene);

/// "3.4 g", "< 0.1 g".
std::string grams_text(double g);
/// "220 to 320 g", "1.20 to 1.40 kg".
std::string mix_text(const InkToMix& mix);
/// Where the curve is.
std::string curve_text(CurveAt curve);
/// "61-64 (155/in)": threads a cm - thread in um.
std::string mesh_text(const Mesh& mesh);

}  // namespace kirtle
