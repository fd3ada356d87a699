#pragma once
// kirtle-view's arguments, and what they ask of a session.
#include "session.h"

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace kirtle {

struct ViewerArguments {
  std::filesystem::path scene;                ///< empty = none
  std::optional<std::filesystem::path> shot;  ///< draw one picture into this file, without a window
  int width = 1600, height = 1000;
  double scale = 1;  ///< of text
  bool scale_given = false;
  std::string view = "fit";
  std::string mode = "print";
  std::optional<std::string> shirt, light, against;
  std::vector<std::string> beside, up;
  std::optional<std::string> only, chosen;
  std::vector<double> point, pin, line;
  unsigned shirt_number = 0;
  int order = 0;  ///< shirts of a run that is printed first
  bool worst = false;
  bool check = false;  ///< look the plates over first
  bool plain = false;  ///< the print alone, without panels
  bool keys = false;
  int frames = 0;  ///< measure so many
  std::string moving = "shirts";
  std::optional<std::filesystem::path> profile;
  std::vector<std::string> set;  ///< edits: "PLATE.KEY=VALUE"
};

/// Exits with CLI11's own status for --help and for arguments that cannot be. Fills the rest.
std::optional<int> read_arguments(int argc, char** argv, ViewerArguments& out);

/// Throws InputError with the session's messages of what failed, if there are any.
void throw_if_failed(const Session& session);

/// Opens the scene, waits, and puts the session as asked. Throws InputError.
void apply(const ViewerArguments& arguments, Session& session, double canvas_width, double canvas_height);

}  // namespace kirtle
