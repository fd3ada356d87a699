#pragma once
// The subjects of the demo art. Each is our own invention. ppi sets the resolution; the print size is the
// subject's own.
#include "art/canvas.h"

#include <vector>

namespace kirtle::art {

/// Night moth, two plates: cream (discharge), shading (dark brown).
std::vector<Plate> draw_moth(double ppi);
/// Fruit, leaves and a bird, three transparent plates: yellow, red, blue.
std::vector<Plate> draw_botanical(double ppi);
/// Coral reef.
std::vector<Plate> draw_reef(double ppi);

}  // namespace kirtle::art
