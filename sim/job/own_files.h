#pragma once
// What a command writes must not take the place of what it is made from, under whatever name or link.
#include "job/scene.h"

#include <filesystem>
#include <span>
#include <string_view>
#include <vector>

namespace kirtle {

/// Files that a scene is made from: its own, its plates', the art that it is compared with.
std::vector<std::filesystem::path> own_files(const Scene& scene);

/// Throws InputError naming the first target that is one of `own`; to be called before the work starts.
/// made: what the targets are and their verb, "the picture is". Targets need not exist.
void refuse_own_files(std::span<const std::filesystem::path> own,
                      std::span<const std::filesystem::path> targets, std::string_view made);

/// The same of files in one folder; nothing if the folder has no name.
void refuse_own_files(std::span<const std::filesystem::path> own, const std::filesystem::path& folder,
                      std::span<const std::string_view> names, std::string_view made);

}  // namespace kirtle
