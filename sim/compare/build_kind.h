#pragma once
// The ways in which a light colour and a dark shading over it can be put on plates.
#include <optional>
#include <span>
#include <string_view>

namespace kirtle {

enum class BuildKind {
  fade,             ///< the light fades out as the dark comes in; edges butt
  fade_trap,        ///< the same, the light carried under the dark's edges by the trap
  solid_under,      ///< the light solid under the shading, knocked out under the solid dark but for a rim
  solid_under_all,  ///< the light solid under all of the dark: two solids piled up
  shirt_as_dark,    ///< no dark plate: the light fades out and the shirt is the dark
  solid_tapering,   ///< the light solid under the shading, tapering off in deep shadow
};

std::span<const BuildKind> all_builds();

/// What a person calls it: "solid under".
std::string_view build_name(BuildKind kind);
/// What the command line and files call it: "solid-under".
std::string_view build_id(BuildKind kind);
/// By its id or by its name.
std::optional<BuildKind> build_of_id(std::string_view id);

/// Does the dark plate print at all, and is the light one solid or fading?
constexpr bool prints_dark(BuildKind kind) { return kind != BuildKind::shirt_as_dark; }
constexpr bool fades(BuildKind kind) { return kind == BuildKind::fade || kind == BuildKind::fade_trap; }

}  // namespace kirtle
