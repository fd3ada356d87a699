#pragma once
// Sentences of the press ticket.
#include "proof/print_study.h"

namespace kirtle {

/// Where an operator looks first, a sentence a place; one that says why if there is none.
std::vector<std::string> watch_texts(const PrintStudy& study);

/// The dryer as the scene states it; empty if it does not: it is never made up.
std::string dryer_text(const Scene& scene);

}  // namespace kirtle
