#include "compare/build_kind.h"

#include <algorithm>
#include <array>

namespace kirtle {

namespace {

struct Named {
  BuildKind kind;
  std::string_view id, name;
};

constexpr std::array<Named, 6> kNames{{
    {BuildKind::fade, "fade", "fade"},
    {BuildKind::fade_trap, "fade-trap", "fade with trap"},
    {BuildKind::solid_under, "solid-under", "solid under"},
    {BuildKind::solid_under_all, "solid-under-all", "solid under all"},
    {BuildKind::shirt_as_dark, "shirt-as-dark", "shirt as the dark"},
    {BuildKind::solid_tapering, "solid-tapering", "solid under, tapering off"},
}};
constexpr std::array<BuildKind, 6> kAll{BuildKind::fade,          BuildKind::fade_trap,
                                        BuildKind::solid_under,   BuildKind::solid_under_all,
                                        BuildKind::shirt_as_dark, BuildKind::solid_tapering};

const Named& named(BuildKind kind) {
  return *std::find_if(kNames.begin(), kNames.end(), [kind](const Named& n) { return n.kind == kind; });
}

}  // namespace

std::span<const BuildKind> all_builds() { return kAll; }
std::string_view build_name(BuildKind kind) { return named(kind).name; }
std::string_view build_id(BuildKind kind) { return named(kind).id; }

std::optional<BuildKind> build_of_id(std::string_view id) {
  const auto it =
      std::find_if(kNames.begin(), kNames.end(), [id](const Named& n) { return n.id == id || n.name == id; });
  if (it == kNames.end()) return std::nullopt;
  return it->kind;
}

}  // namespace kirtle
