#pragma once
// What the window changed against the scene's file. A plain value: undo keeps old ones.
#include "job/library.h"
#include "job/scene.h"

#include <map>
#include <optional>
#include <string>
#include <vector>

namespace kirtle {

/// Ends of what can be dragged or typed; those of docs/formats.md.
constexpr double kLeastLpi = 5, kMostLpi = 200, kMostOffsetMm = 50, kMostTurnDeg = 10;
constexpr double kLeastSpreadUm = -100, kMostSpreadUm = 500;
/// An ink's pigment, as a multiple of the record's K and S.
constexpr double kLeastHiding = 0.1, kMostHiding = 10;

/// Of one plate, for every pass that prints it.
struct PlateEdit {
  std::optional<std::string> ink;   ///< id
  std::optional<std::string> mesh;  ///< id
  std::optional<double> lpi, angle_deg;
  std::optional<double> hiding;     ///< K and S of its ink times this
  std::optional<double> spread_um;  ///< how far its printed edges move outward: what makes plates overlap
  std::optional<RegisterOffset> offset;
  bool empty() const { return !ink && !mesh && !lpi && !angle_deg && !hiding && !spread_um && !offset; }
};
bool operator==(const PlateEdit& a, const PlateEdit& b);

struct Edits {
  std::optional<std::string> shirt;         ///< id
  std::optional<std::string> light;         ///< a name of light_names()
  std::optional<double> pot_hours;          ///< hours since the agent was mixed in
  std::map<std::string, PlateEdit> plates;  ///< by the plate's name
  bool operator==(const Edits&) const = default;
  bool empty() const;
};

/// The scene with the edits in it. Throws InputError: an id that is not on the shelf, a number out of range.
Scene edited(Scene scene, const Edits& edits, Library& library);

/// One line for each thing that differs from the file, for people: "red: mesh 90-48 -> 120-34".
std::vector<std::string> differences(const Scene& file, const Edits& edits);

}  // namespace kirtle
