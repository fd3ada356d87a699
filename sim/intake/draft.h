#pragma once
// A scene drafted from what plates are called and hold: a guess for everything, and a plain question for what
// is unclear. Nothing is guessed silently: what was is marked in the scene and listed.
#include "intake/ink_words.h"
#include "intake/survey.h"
#include "job/library.h"
#include "job/read_scene.h"

#include <filesystem>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace kirtle {

/// What the person has said already.
struct DraftWishes {
  std::optional<std::string> shirt, press;  ///< ids
  std::optional<double> ppi;                ///< of the plates
  std::optional<ArtBox> art_box;
  std::vector<std::pair<std::string, std::string>> inks;  ///< plate's name, ink's id
};

/// Of a key's value: why it is what it is. Empty = stated by file or person.
using Guessed = std::string;

struct DraftPlate {
  SurveyedPlate survey;
  std::string name;
  PlateKind kind = PlateKind::top;
  PlateRole role = PlateRole::print;
  Guessed role_guessed;
  Polarity polarity = Polarity::dark_is_ink;  ///< of greys
  Guessed polarity_guessed;
  double coverage = 0;    ///< film, 0..1, with that polarity
  std::string ink, mesh;  ///< ids; empty if it does not print
  Guessed ink_guessed;
  bool flash = false;
};

struct DraftQuestion {
  std::string ask;     ///< in shop words
  std::string change;  ///< the key to change in the scene
};

struct SceneDraft {
  std::string title;
  std::vector<std::filesystem::path> data;  ///< further folders of records; relative to where we are
  std::string shirt, press;
  bool shirt_guessed = false, press_guessed = false;
  double ppi = 0;            ///< written into the scene; 0 = the files say it
  bool ppi_missing = false;  ///< neither files nor person say it
  std::optional<ArtBox> art_box;
  std::vector<DraftPlate> plates;  ///< in print order, those that do not print last
  std::vector<std::string> assumed;
  std::vector<DraftQuestion> questions;
};

/// Throws InputError: plates that cannot be one set (sizes, resolutions), no plate at all or over 12, an
/// unknown shirt, press or ink, a wish for a plate that is not there.
SceneDraft draft_scene(const Survey& survey, const DraftWishes& wishes, Library& library, std::string title);

/// The scene file, files named as seen from `folder`.
std::string scene_text(const SceneDraft& draft, const std::filesystem::path& folder);

}  // namespace kirtle
