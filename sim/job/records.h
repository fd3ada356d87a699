#pragma once
// One record file -> one record. Each returns nothing, with the faults added, if anything in the file is
// wrong.
#include "job/document.h"
#include "job/library.h"
#include "job/table_reader.h"
#include "light/weights.h"

#include <optional>
#include <string>

namespace kirtle {

std::optional<Ink> read_ink(const Document& document, Library& library, Diagnostics& faults);
std::optional<Cloth> read_shirt(const Document& document, Library& library, Diagnostics& faults);
std::optional<Mesh> read_mesh(const Document& document, Diagnostics& faults);
std::optional<PressPreset> read_press(const Document& document, Diagnostics& faults);
std::optional<FibreRecord> read_fibre(const Document& document, Diagnostics& faults);
std::optional<DyeRecord> read_dye(const Document& document, Diagnostics& faults);

/// What every record starts with: schema, id (must be the file's name), name, [provenance].
struct RecordHead {
  std::string id, name;
  Provenance provenance;
};
RecordHead read_record_head(TableReader& reader);

/// Geometry of a mesh: `count`, `thread_um`, `fabric_um`, optional `opening_um`, `open_area`. For records and
/// for meshes written into a scene.
void read_mesh_geometry(TableReader& reader, Mesh& mesh);

/// A colour as a person has it. `lab` = [L, a, b] with `light` (default D50) and `observer` (2 or 10, default
/// 2); or `hex` = "#rrggbb", sRGB, which is D65 and 2 degrees.
struct GivenColour {
  XYZ xyz;
  ViewingWeights weights;
};
std::optional<GivenColour> read_colour(TableReader& reader);

/// A smooth possible reflectance of that colour, or nothing with a fault at the table.
std::optional<Spectrum> recovered_reflectance(TableReader& reader, const GivenColour& colour);

/// "2" or "10" degrees as a number of the file.
std::optional<Observer> read_observer(TableReader& reader, std::string_view key);

}  // namespace kirtle
