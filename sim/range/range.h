#pragma once
// Many scenes on many shirts: planned, worked out where not done yet, put together.
//
// An item is one scene on one shirt. What is worked out for it is written as one small file into DIR/done,
// whole or not at all, named after a checksum of all that goes into it; so work that was stopped goes on,
// several computers share a folder or bring theirs together, and what comes out is the same byte for byte.
#include "base/progress.h"
#include "job/scene.h"
#include "predict/model_revision.h"
#include "range/judge.h"

#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace kirtle {

/// Item k, from 0, belongs to shard k mod `of`. Shards count from 0 to of - 1.
struct RangeShard {
  int index = 0, of = 1;
  bool has(std::size_t item) const {
    return item % static_cast<std::size_t>(of) == static_cast<std::size_t>(index);
  }
};
/// "1/4" is the first of four, "4/4" the last. Throws InputError.
RangeShard shard_from(const std::string& text);

/// Shirts by id, one a line; blank lines and what follows a # are left out. Throws InputError: no such file,
/// too long, no id in it, a line that is none.
std::vector<std::string> read_shirt_list(const std::filesystem::path& file);

struct RangeOptions {
  std::vector<std::string> shirts;           ///< ids; empty = all that the scene's data folders hold
  std::filesystem::path folder;              ///< empty = nothing is kept
  std::vector<std::filesystem::path> merge;  ///< folders of other calls, whose done files are taken over
  std::optional<RangeShard> shard;           ///< works on these items alone; needs a folder
  std::string version;                       ///< of the program
  int model = kModelRevision;                ///< results of another are not taken
  int picture_height = 128;                  ///< pixels
  unsigned threads = 0;                      ///< nothing depends on it
  Progress progress;                         ///< share of the items that had to be worked out
};

/// One design on one shirt.
struct RangeLine {
  RangeVariant variant = RangeVariant::as_is;
  std::string id, called, changed;
  int screens = 0, new_screens = 0, flashes = 0;
  RangeFigures figures;
};

/// One scene on one shirt.
struct RangeItem {
  std::size_t scene = 0;  ///< index
  std::string shirt;      ///< id
  std::string key;        ///< checksum of all that goes into it, 64 hex digits
  std::string shirt_name, fibre_text;
  bool own_shirt = false;  ///< the scene's own
  std::vector<std::string> not_tried, plates_sent_back, cautions_at_home;
  int step = 1;  ///< AreaTuples::step, the coarsest of its designs
  std::vector<RangeLine> lines;
};

struct RangeResult {
  std::vector<RangeItem> items;  ///< scene by scene, shirts in the order asked for; of a shard: its own
  std::size_t worked_out = 0;    ///< others were done before
  Diagnostics notes;
};

/// Throws InputError (scenes, plates, shirts, folder; files that changed while they were read), Cancelled:
/// what is done is kept.
RangeResult run_range(const std::vector<Scene>& scenes, const RangeOptions& options);

/// Lines of all items: those that work first, then those with care, then by difference; at equal, as they
/// come.
struct RangeEntry {
  const RangeItem* item = nullptr;
  const RangeLine* line = nullptr;
};
std::vector<RangeEntry> sorted_entries(const RangeResult& result);
/// The line of an item that a shop would take: what works before what needs care, the smaller difference in
/// words (another colour: in steps of 4), fewer new screens, the design as it is, the smaller difference.
const RangeLine& best_line(const RangeItem& item);

/// "none to see", "side by side only", "seen", "another colour" (common practice, no source).
std::string_view difference_in_words(double de00);

/// Documents, ending in a new line. Names out of users' files are escaped as each format wants it.
std::string range_json(const std::vector<Scene>& scenes, const RangeResult& result);
std::string range_csv(const std::vector<Scene>& scenes, const RangeResult& result);

}  // namespace kirtle
