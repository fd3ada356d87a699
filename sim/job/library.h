#pragma once
// The shelves of records: inks, shirts, meshes, presses, and the fibres and dyes that shirts are made of. A
// record is FOLDER/SHELF/ID.toml; it is read when first asked for, so that starting up does not read what is
// not used.
#include "base/diagnostics.h"
#include "cloth/cloth.h"
#include "ink/ink.h"
#include "press/register.h"
#include "screen/screen.h"

#include <filesystem>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

namespace kirtle {

/// Undyed fibre on the shelf "fibres".
struct FibreRecord {
  std::string id, name;
  Provenance provenance;
  KSSpectra optics;        ///< [1/um]
  double takes_agent = 1;  ///< 1 cellulose, 0 polyester
};

/// A dye on the shelf "dyes", at amount 1.
struct DyeRecord {
  std::string id;
  Provenance provenance;
  Dye dye;
};

class Library {
 public:
  /// Folders are searched in this order; each holds inks/, shirts/, meshes/, presses/, fibres/ and dyes/, any
  /// of which may be missing.
  explicit Library(std::vector<std::filesystem::path> folders);

  /// The record, or null with the faults added: an unknown id is reported at `asked_at` with the nearest
  /// known id, a faulty record at its own lines, and at `asked_at` when it is asked for again.
  const Ink* ink(const std::string& id, const Place& asked_at, Diagnostics& faults);
  const Cloth* shirt(const std::string& id, const Place& asked_at, Diagnostics& faults);
  const Mesh* mesh(const std::string& id, const Place& asked_at, Diagnostics& faults);
  const PressPreset* press(const std::string& id, const Place& asked_at, Diagnostics& faults);
  const FibreRecord* fibre(const std::string& id, const Place& asked_at, Diagnostics& faults);
  const DyeRecord* dye(const std::string& id, const Place& asked_at, Diagnostics& faults);

  /// Ids on a shelf ("inks", "shirts", "meshes", "presses", "fibres", "dyes"), sorted; no record is read.
  std::vector<std::string> ids(const std::string& shelf) const;

  /// Every good record of a shelf, sorted by id. Faults of the others are added.
  std::vector<Ink> all_inks(Diagnostics& faults);
  std::vector<Cloth> all_shirts(Diagnostics& faults);
  std::vector<Mesh> all_meshes(Diagnostics& faults);
  std::vector<PressPreset> all_presses(Diagnostics& faults);

  const std::vector<std::filesystem::path>& folders() const { return folders_; }

 private:
  template <class Record>
  using Shelf = std::map<std::string, std::optional<Record>>;
  template <class Record, class Read>
  const Record* take(Shelf<Record>& shelf, const char* folder, const char* noun, const std::string& id,
                     const Place& asked_at, Diagnostics& faults, Read read);

  std::vector<std::filesystem::path> folders_;
  std::set<std::string> being_read_;  ///< "inks/ID": a mix must not contain itself
  Shelf<Ink> inks_;
  Shelf<Cloth> shirts_;
  Shelf<Mesh> meshes_;
  Shelf<PressPreset> presses_;
  Shelf<FibreRecord> fibres_;
  Shelf<DyeRecord> dyes_;
};

/// `extra` folders first, then the folder that came with Kirtle. A folder that does not exist is an error.
Library load_library(const std::vector<std::filesystem::path>& extra, Diagnostics& faults);

/// The folder of records that came with Kirtle: $KIRTLE_DATA if set, else ../share/kirtle/inkdata beside the
/// program's own folder, else the inkdata of the source tree it was built from.
std::filesystem::path default_data_folder();

}  // namespace kirtle
