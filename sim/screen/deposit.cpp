#include "screen/deposit.h"

#include <stdexcept>

namespace kirtle {

Um mesh_opening(const Mesh& mesh) {
  if (mesh.opening) return *mesh.opening;
  return {10000.0 / mesh.threads_per_cm - mesh.thread.v};
}

double mesh_open_area(const Mesh& mesh) {
  if (mesh.open_area) return *mesh.open_area;
  const double w = mesh_opening(mesh).v;
  const double share = w / (w + mesh.thread.v);
  return share * share;
}

Um theoretical_volume(const Mesh& mesh) { return {mesh_open_area(mesh) * mesh.fabric_thickness.v}; }

Um wet_deposit(const Mesh& mesh, double transfer, int strokes) {
  if (!(transfer >= 0.3 && transfer <= 1)) throw std::domain_error("wet_deposit: transfer must be 0.3 to 1");
  if (strokes < 1 || strokes > 4) throw std::domain_error("wet_deposit: strokes must be 1 to 4");
  return {theoretical_volume(mesh).v * transfer * (1.0 + kFurtherStroke * (strokes - 1))};
}

Um smallest_dot(const Mesh& mesh) { return {0.85 * (2.0 * mesh.thread.v + mesh_opening(mesh).v)}; }

}  // namespace kirtle
