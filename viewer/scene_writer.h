#pragma once
// A scene with its edits as a new scene file: the text of the old one, comments and all, with the keys
// changed that were edited. An ink whose hiding was changed becomes a record of its own beside the new scene.
#include "edits.h"

#include <filesystem>
#include <vector>

namespace kirtle {

/// The folders that the scene's own `data` key names, resolved. Empty if it has none, or cannot be read.
std::vector<std::filesystem::path> data_folders_of(const std::filesystem::path& scene_file);

/// Writes `target` (which may be the scene's own file). Paths in it are made to be seen from the target's
/// folder. Before the target is replaced the new text is read back and must give the edited scene. Throws
/// InputError: the file has changed since it was read or is laid out so that a key cannot be put in;
/// std::runtime_error (disk).
void write_edited_scene(const Scene& file_scene, const Edits& edits, Library& library,
                        const std::filesystem::path& target);

}  // namespace kirtle
