#pragma once
// Where an operator looks first: the places at which shirt or base open before they do elsewhere.
#include "proof/print_study.h"

namespace kirtle {

/// At most two, at least 25 mm apart: those where shirts of the run open widest, and where none does, those
/// with the least overlap. None for a single plate. Places are measured from the middle and the top of `box`.
std::vector<WatchPlace> watch_places(const Scene& scene, const Prediction& prediction, const ShirtRun& run,
                                     const InkBox& box, unsigned threads);

}  // namespace kirtle
