#include "range/range.h"

#include "base/check.h"
#include "base/parallel.h"
#include "base/replaced_file.h"
#include "job/library.h"
#include "predict/prediction.h"
#include "proof/sha256.h"
#include "range/done_file.h"

#include <algorithm>
#include <charconv>
#include <fmt/format.h>
#include <fstream>
#include <mutex>
#include <set>

namespace kirtle {
namespace fs = std::filesystem;

namespace {

constexpr int kMostShards = 100'000;
constexpr std::uintmax_t kLongestList = 1 << 20;

/// All records of the folders, by name and content: what any of them says may go into a result.
std::string records_digest(const std::vector<fs::path>& folders) {
  std::string all;
  for (const fs::path& folder : folders) {
    for (const char* shelf : {"dyes", "fibres", "inks", "meshes", "presses", "shirts"}) {
      std::vector<fs::path> files;
      std::error_code code;
      for (fs::directory_iterator at(folder / shelf, code), end; !code && at != end; at.increment(code))
        if (at->path().extension() == ".toml" && at->is_regular_file(code)) files.push_back(at->path());
      std::sort(files.begin(), files.end());
      for (const fs::path& file : files)
        all += fmt::format("{}/{} {}\n", shelf, file.filename().string(), sha256_of_file(file));
    }
    all += "--\n";
  }
  return sha256_hex(all);
}

/// All that goes into a scene's items, but the shirt.
std::string scene_digest(const Scene& scene, const RangeOptions& options) {
  std::string all = fmt::format("kirtle range 1\n{}\n{} {}\n{} {} {}\n", options.version, options.model,
                                options.picture_height, scene.light, scene.ppi, scene.shirt.id);
  all += sha256_of_file(scene.file) + "\n" + records_digest(scene.data_folders) + "\n";
  std::set<fs::path> seen;
  for (const ScenePlate& plate : scene.plates)
    if (seen.insert(plate.file).second) all += sha256_of_file(plate.file) + "\n";
  if (!scene.compare.art.empty()) all += sha256_of_file(scene.compare.art) + "\n";
  return sha256_hex(all);
}

/// A scene's shirts and what of them is done.
struct Planned {
  std::string digest;  ///< of all that goes into its items, but the shirt
  std::vector<Cloth> shirts;
  std::vector<RangeItem> items;  ///< one a shirt; without lines: not worked out yet
  std::vector<bool> mine;        ///< of this shard
};

std::vector<Planned> plan(const std::vector<Scene>& scenes, const RangeOptions& options) {
  std::vector<Planned> out;
  Diagnostics faults;
  std::size_t number = 0;
  for (std::size_t s = 0; s < scenes.size(); ++s) {
    Library library(scenes[s].data_folders);
    Planned planned;
    std::set<std::string> asked;
    for (const std::string& id : options.shirts.empty() ? library.ids("shirts") : options.shirts) {
      if (!asked.insert(id).second) continue;
      Diagnostics found;
      if (const Cloth* shirt = library.shirt(id, {}, found)) planned.shirts.push_back(*shirt);
      faults.append_new(found);
    }
    faults.throw_if_errors();
    planned.digest = scene_digest(scenes[s], options);
    for (const Cloth& shirt : planned.shirts) {
      RangeItem item;
      item.scene = s;
      item.shirt = shirt.id;
      item.key = sha256_hex(planned.digest + shirt.id);
      item.own_shirt = shirt.id == scenes[s].shirt.id;
      planned.items.push_back(std::move(item));
      planned.mine.push_back(!options.shard || options.shard->has(number++));
    }
    out.push_back(std::move(planned));
  }
  return out;
}

class Worker {
 public:
  Worker(const std::vector<Scene>& scenes, const RangeOptions& options)
      : scenes_(scenes), options_(options), planned_(plan(scenes, options)) {}

  RangeResult run() {
    if (!options_.folder.empty()) {
      make_folder(options_.folder);
      make_folder(options_.folder / "done");
      const ReplacedFile probe(options_.folder / "done" / "probe");  // now, rather than after the first shirt
    }
    std::size_t pending = 0;
    for (Planned& planned : planned_)
      for (std::size_t i = 0; i < planned.items.size(); ++i)
        if (planned.mine[i] && !take_done(planned.items[i])) ++pending;
    pending_ = pending;
    stop_if_asked();
    for (std::size_t s = 0; s < scenes_.size(); ++s) work(scenes_[s], planned_[s]);
    for (Planned& planned : planned_)
      for (std::size_t i = 0; i < planned.items.size(); ++i)
        if (planned.mine[i]) result_.items.push_back(std::move(planned.items[i]));
    result_.worked_out = done_;
    return std::move(result_);
  }

 private:
  void stop_if_asked() {
    const double share = pending_ > 0 ? static_cast<double>(done_) / static_cast<double>(pending_) : 1;
    if (options_.progress && !options_.progress(share)) throw Cancelled();
  }

  bool take(const fs::path& folder, RangeItem& item) {
    std::optional<RangeItem> done = read_done(folder, item, result_.notes);
    if (!done) return false;
    done->scene = item.scene;
    done->own_shirt = item.own_shirt;
    item = std::move(*done);
    return true;
  }

  bool take_done(RangeItem& item) {
    if (options_.folder.empty()) return false;
    if (take(options_.folder, item)) return true;
    for (const fs::path& other : options_.merge) {
      if (!take(other, item)) continue;
      keep(item);
      return true;
    }
    return false;
  }

  void keep(const RangeItem& item) const {
    if (!options_.folder.empty()) write_file(done_path(options_.folder, item.key), done_bytes(item));
  }

  void work(const Scene& scene, Planned& planned) {
    std::vector<std::size_t> open;
    for (std::size_t i = 0; i < planned.items.size(); ++i)
      if (planned.mine[i] && planned.items[i].lines.empty()) open.push_back(i);
    if (open.empty()) return;
    const std::shared_ptr<const PlateSet> plates = read_printing_plates(scene, result_.notes);
    SharedImages images;
    for (const PlateImage& image : plates->images) images.emplace_back(plates, &image);
    CheckSettings settings;
    settings.threads = options_.threads;
    const PlateCheck known(scene, images, plates->ppi, settings);
    Diagnostics faulty;
    Library library(scene.data_folders);
    const std::vector<Ink> inks = library.all_inks(faulty);
    for (const Diagnostic& d : faulty.all()) result_.notes.warning(d.place, d.message, d.remedy);
    const RangeDesigns designs = make_designs(scene, plates, known.bases(), inks, options_.threads);
    stop_if_asked();
    // The keys were made of what was there before plates and records were read.
    if (scene_digest(scene, options_) != planned.digest)
      throw InputError({scene.file.string(), 0, 0},
                       "this scene, one of its plates or a record was changed while they were read",
                       "start again once nothing writes to them; nothing of it was kept");
    const RangeJudge judge(designs, known, options_.picture_height, options_.threads);
    stop_if_asked();
    std::mutex guard;
    parallel_for(open.size(), options_.threads, [&](std::size_t at, unsigned) {
      RangeItem& item = planned.items[open[at]];
      item = worked_out(item, planned.shirts[open[at]], designs, judge);
      const std::lock_guard lock(guard);
      keep(item);
      ++done_;
      stop_if_asked();
    });
  }

  static RangeItem worked_out(RangeItem item, const Cloth& shirt, const RangeDesigns& designs,
                              const RangeJudge& judge) {
    item.shirt_name = shirt.name;
    item.fibre_text = shirt.fibre_text;
    item.not_tried = designs.not_tried;
    item.plates_sent_back = judge.plates_sent_back();
    item.cautions_at_home = judge.cautions_at_home();
    item.step = judge.step();
    std::vector<RangeFigures> figures = judge.on(shirt);
    for (std::size_t d = 0; d < designs.designs.size(); ++d) {
      const RangeDesign& design = designs.designs[d];
      item.lines.push_back({design.variant, design.id, design.called, design.changed, design.screens,
                            design.new_screens, design.flashes, std::move(figures[d])});
    }
    // As it comes back from a file, so that what is put together does not depend on when it was worked out.
    std::optional<RangeItem> read = item_from(done_bytes(item), item.key);
    KIRTLE_CHECK(read.has_value(), ==, true);
    read->scene = item.scene;
    read->own_shirt = item.own_shirt;
    return std::move(*read);
  }

  const std::vector<Scene>& scenes_;
  const RangeOptions& options_;
  std::vector<Planned> planned_;
  RangeResult result_;
  std::size_t pending_ = 0, done_ = 0;
};

std::optional<int> number_in(std::string_view text) {
  int out = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), out);
  if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return out;
}

}  // namespace

RangeShard shard_from(const std::string& text) {
  const std::size_t slash = text.find('/');
  const std::optional<int> index = number_in(std::string_view(text).substr(0, slash));
  const std::optional<int> of =
      slash == std::string::npos ? std::nullopt : number_in(std::string_view(text).substr(slash + 1));
  if (!index || !of || *of < 1 || *of > kMostShards || *index < 1 || *index > *of)
    throw InputError({}, fmt::format("--shard \"{}\" is none", printable(text, 60)),
                     fmt::format("write I/N, with N from 1 to {} and I from 1 to N: 1/4 is the first of four",
                                 kMostShards));
  return {*index - 1, *of};
}

std::vector<std::string> read_shirt_list(const fs::path& file) {
  const auto refuse = [&](int line, const std::string& what) {
    throw InputError({file.string(), line, 0}, what,
                     "give a text file with the id of one shirt a line (kirtle shirts lists them)");
  };
  std::error_code code;
  if (!fs::is_regular_file(file, code)) refuse(0, "there is no such file");
  if (fs::file_size(file, code) > kLongestList) refuse(0, "it is longer than 1 MiB");
  std::ifstream in(file);
  if (!in) refuse(0, "it cannot be read");
  std::vector<std::string> out;
  std::string line;
  for (int number = 1; std::getline(in, line); ++number) {
    line = line.substr(0, line.find('#'));
    const std::size_t first = line.find_first_not_of(" \t\r");
    if (first == std::string::npos) continue;
    line = line.substr(first, line.find_last_not_of(" \t\r") - first + 1);
    if (line.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-") != std::string::npos)
      refuse(number,
             fmt::format("\"{}\" is no id: ids have small letters, digits and hyphens", printable(line, 60)));
    out.push_back(line);
  }
  if (out.empty()) refuse(0, "it holds no id");
  return out;
}

RangeResult run_range(const std::vector<Scene>& scenes, const RangeOptions& options) {
  if (options.folder.empty() && (options.shard || !options.merge.empty()))
    throw InputError({}, "a shard, or folders to merge, but no folder to keep the work in", "add -o FOLDER");
  for (const fs::path& other : options.merge) {
    std::error_code code;
    if (!fs::is_directory(other / "done", code))
      throw InputError({other.string(), 0, 0}, "there is nothing to merge: it has no folder \"done\"",
                       "name the folder that another kirtle range was given with -o");
  }
  return Worker(scenes, options).run();
}

}  // namespace kirtle
