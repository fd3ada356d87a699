#include "scene_writer.h"

#include "base/replaced_file.h"
#include "build.h"
#include "job/own_files.h"
#include "job/read_scene.h"
#include "job/write_document.h"
#include "scene_text.h"

#include <algorithm>
#include <fmt/format.h>
#include <fstream>
#include <iterator>
#include <map>
#include <set>
#include <span>
#include <unistd.h>
#include <utility>

namespace kirtle {
namespace fs = std::filesystem;

namespace {

const Value* member(const Value& table, std::string_view key) {
  for (const Member& m : table.members) {
    if (m.key == key) return &m.value;
  }
  return nullptr;
}

std::string whole_text(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::string text{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
  if (!in && !in.eof())
    throw InputError({file.string(), 0, 0}, "the file cannot be read", "check that you may read it");
  return text;
}

/// What makes two scenes predict the same, names of inks left out.
std::string fingerprint(const Scene& scene) {
  std::string out = fmt::format("{}|{}|{}", scene.shirt.id, scene.light, scene.discharge.pot_hours);
  for (const ScenePlate& p : scene.plates) out += '|' + fs::weakly_canonical(p.file).string();
  if (!scene.compare.art.empty()) out += '|' + fs::weakly_canonical(scene.compare.art).string();
  for (const ScenePass& p : scene.passes) {
    const RegisterOffset& o = p.offset;
    out += fmt::format("|{}:{}:{:.6g}:{:.6g}:{:.6g}:{:g}:{:g}:{:g}:{:g}:{:g}:{:g}", p.plate, p.mesh.id,
                       p.ink.optics.k[4], p.ink.optics.s[20], wet_deposit_of(p).v, p.halftone.lpi,
                       p.halftone.angle_deg, p.ink_spread.value_or(p.ink.ink_spread).v, o.dx.v, o.dy.v,
                       o.turn_deg);
  }
  return out;
}

std::string family_word(InkFamily family) {
  return family == InkFamily::plastisol    ? "plastisol"
         : family == InkFamily::water_base ? "water base"
                                           : "discharge";
}

std::string spectrum_text(const Spectrum& s) {
  std::string out = "[";
  for (std::size_t b = 0; b < kBands; ++b) out += fmt::format("{}{:.8g}", b == 0 ? "" : ", ", s[b]);
  return out + "]";
}

/// An ink as a record with K and S.
std::string ink_record(const Ink& ink, const std::string& id, double hiding) {
  std::string nm = "[";
  for (std::size_t b = 0; b < kBands; ++b) nm += fmt::format("{}{}", b == 0 ? "" : ", ", 380 + 10 * b);
  nm += "]";
  std::string out = fmt::format(
      "# Written by kirtle-view: \"{0}\" with its K and S times {1:g}.\nschema = 1\nid = \"{2}\"\nname = "
      "{3}\nfamily = "
      "\"{4}\"\nsolids_by_volume = {5}\ndensity_g_cm3 = {6}\nsoak = {7}\nsoak_depth_um = {8}\nwets = "
      "{9}\ngloss = "
      "{10}\nink_spread_um = {11}\nwick_mm = {12}\nbase_need = {13}\n",
      ink.id, hiding, id, toml_text(fmt::format("{}, hiding x {:g}", ink.name, hiding)),
      family_word(ink.family), ink.solids_by_volume, ink.density_g_cm3, ink.soak, ink.soak_depth.v, ink.wets,
      ink.gloss, ink.ink_spread.v, ink.wick.v, ink.base_need);
  if (ink.family == InkFamily::discharge)
    out += fmt::format("agent_g_cm3 = {}\nagent_depth_um = {}\n", ink.agent_g_cm3, ink.agent_depth.v);
  const char* status = ink.provenance.status == DataStatus::invented ? "invented" : "estimated";
  out += fmt::format(
      "\n[provenance]\nstatus = \"{}\"\nsource = {}\n\n[optics]\nwavelength_nm = {}\nK_per_um = {}\nS_per_um "
      "= {}\n",
      status, toml_text(fmt::format("{}; its K and S times {:g}, a guess", ink.provenance.source, hiding)),
      nm, spectrum_text(ink.optics.k), spectrum_text(ink.optics.s));
  return out;
}

std::string seen_from(const fs::path& file, const fs::path& folder) {
  const fs::path relative = fs::relative(file, folder);
  return toml_text((relative.empty() ? file : relative).generic_string());
}

/// The tables that hold the keys of a plate's passes: its [[pass]] tables, or the [[plate]] itself in short
/// form.
std::vector<const Value*> pass_tables(const Value& root, const std::string& plate) {
  std::vector<const Value*> out;
  const Value* list = member(root, "pass");
  const char* key = list != nullptr ? "plate" : "name";
  if (list == nullptr) list = member(root, "plate");
  if (list == nullptr) return out;
  for (const Value& table : list->items) {
    const Value* name = member(table, key);
    if (name != nullptr && name->text == plate) out.push_back(&table);
  }
  return out;
}

void set_plate(SceneText& text, const Value& table, const PlateEdit& e, const std::string& ink_id) {
  if (!ink_id.empty()) text.set(table, "ink", toml_text(ink_id));
  if (e.mesh) {
    text.set(table, "mesh", toml_text(*e.mesh));
    text.remove(table, "wet_deposit_um");
  }
  if (e.lpi) text.set(table, "lpi", toml_number(*e.lpi));
  if (e.angle_deg) text.set(table, "angle", toml_number(*e.angle_deg));
  if (e.spread_um) text.set(table, "ink_spread_um", toml_number(*e.spread_um));
  if (!e.offset) return;
  text.set(table, "offset",
           fmt::format("[{}, {}]", toml_number(e.offset->dx.v), toml_number(e.offset->dy.v)));
  if (e.offset->turn_deg != 0 || member(table, "turn_deg") != nullptr)
    text.set(table, "turn_deg", toml_number(e.offset->turn_deg));
}

/// A file or folder that is gone when this is.
struct Passing {
  fs::path path;
  ~Passing() {
    std::error_code ignored;
    fs::remove_all(path, ignored);
  }
};

/// Inks whose hiding was changed, as records.
struct NewInks {
  std::map<std::string, std::string> of_plate;  ///< id by the plate's name
  std::map<std::string, std::string> record;    ///< by id
};

NewInks new_inks(const Scene& wanted, const Edits& edits, const Library& library) {
  NewInks out;
  const std::vector<std::string> known = library.ids("inks");
  std::set<std::string> taken(known.begin(), known.end());
  std::map<std::pair<std::string, double>, std::string> made;
  for (const auto& [name, e] : edits.plates) {
    if (!e.hiding) continue;
    for (const ScenePass& pass : wanted.passes) {
      if (wanted.plates[static_cast<std::size_t>(pass.plate)].name != name) continue;
      std::string& id = made[{pass.ink.id, *e.hiding}];
      if (id.empty()) {
        // Two that are the same in whole per cent are two inks all the same.
        const std::string plain = fmt::format("{}-x{:.0f}", pass.ink.id, 100 * *e.hiding);
        id = plain;
        for (int number = 2; !taken.insert(id).second; ++number) id = fmt::format("{}-{}", plain, number);
        out.record[id] = ink_record(pass.ink, id, *e.hiding);
      }
      out.of_plate[name] = id;
      break;
    }
  }
  return out;
}

/// A scene's text and what becomes of it.
struct Rewriting {
  const Scene& file_scene;
  const std::string& old;
  const Document& document;
  const Edits& edits;
  const NewInks& inks;
  fs::path folder;  ///< of the new text
  bool moved = false;
};

/// The new text, with its new records in this folder.
std::string edited_text(const Rewriting& r, const fs::path& records) {
  const Value& root = r.document.root;
  SceneText text(r.old, r.document);
  if (r.edits.shirt) text.set(root, "shirt", toml_text(*r.edits.shirt));
  if (r.edits.light) text.set_in("view", "light", toml_text(*r.edits.light));
  if (r.edits.pot_hours) text.set_in("discharge", "pot_hours", toml_number(*r.edits.pot_hours));
  for (const auto& [name, e] : r.edits.plates) {
    const auto made = r.inks.of_plate.find(name);
    const std::string ink_id = made != r.inks.of_plate.end() ? made->second : e.ink.value_or("");
    for (const Value* table : pass_tables(root, name)) set_plate(text, *table, e, ink_id);
  }
  if (r.moved || !r.inks.record.empty()) {
    std::string data;
    if (!r.inks.record.empty()) data = seen_from(records, r.folder);
    for (const fs::path& f : data_folders_of(r.file_scene.file)) {
      if (f.lexically_normal() == records.lexically_normal()) continue;
      data += (data.empty() ? "" : ", ") + seen_from(fs::absolute(f), r.folder);
    }
    if (!data.empty()) text.set(root, "data", "[" + data + "]");
  }
  const auto move_path = [&](const Value& table, const std::string& key) {
    if (const Value* file = member(table, key))
      text.set(table, key, seen_from(fs::absolute(r.file_scene.file).parent_path() / file->text, r.folder));
  };
  if (const Value* plates = member(root, "plate"); r.moved && plates != nullptr)
    for (const Value& table : plates->items) move_path(table, "file");
  if (const Value* compare = member(root, "compare"); r.moved && compare != nullptr)
    move_path(*compare, "art");
  return text.result();
}

}  // namespace

std::vector<fs::path> data_folders_of(const fs::path& scene_file) {
  Diagnostics ignored;
  std::vector<fs::path> out;
  const std::optional<Document> document = read_document(scene_file, ignored);
  if (!document) return out;
  if (const Value* data = member(document->root, "data")) {
    for (const Value& v : data->items) out.push_back((scene_file.parent_path() / v.text).lexically_normal());
  }
  return out;
}

void write_edited_scene(const Scene& file_scene, const Edits& edits, Library& library,
                        const fs::path& target) {
  std::vector<fs::path> own = own_files(file_scene);
  own.erase(own.begin());  // its own file it may replace
  refuse_own_files(own, std::span(&target, 1), "the scene is");
  const Scene wanted = edited(file_scene, edits, library);
  const std::string old = whole_text(file_scene.file);
  Diagnostics faults;
  const std::optional<Document> document = parse_document(old, file_scene.file, faults);
  if (!document) throw InputError(std::move(faults));
  const fs::path folder = fs::absolute(target).parent_path();
  const NewInks inks = new_inks(wanted, edits, library);
  const Rewriting rewriting{
      file_scene,
      old,
      *document,
      edits,
      inks,
      folder,
      fs::weakly_canonical(folder) != fs::weakly_canonical(fs::absolute(file_scene.file).parent_path())};
  const auto passing = [&](const char* what) {
    return folder / fmt::format(".{}.{}.{}", target.filename().string(), ::getpid(), what);
  };
  ReplacedFile file(target);  // before anything else: it may not be writable
  const Passing trial{passing("trial")}, trial_records{passing("records")};
  if (!inks.record.empty()) make_folder(trial_records.path / "inks");
  for (const auto& [id, record] : inks.record)
    write_file(trial_records.path / "inks" / (id + ".toml"), record);
  write_file(trial.path, edited_text(rewriting, trial_records.path));
  if (fingerprint(read_scene(trial.path)) != fingerprint(wanted)) {
    throw InputError(
        {file_scene.file.string(), 0, 0},
        "the file has changed since it was opened, or is laid out so that a key cannot be put in",
        "open it again; tables with headers of their own ([view], [[pass]]) always work. Nothing was "
        "written");
  }
  const fs::path records = folder / (target.stem().string() + "-records");
  if (!inks.record.empty()) make_folder(records / "inks");
  for (const auto& [id, record] : inks.record)
    fs::rename(trial_records.path / "inks" / (id + ".toml"), records / "inks" / (id + ".toml"));
  file.write(edited_text(rewriting, records));
  file.commit();
}

}  // namespace kirtle
