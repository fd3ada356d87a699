#pragma once
// How the window looks: neutral greys, so that nothing near a print tints its colour; Inter for text.
#include <filesystem>
#include <imgui.h>
#include <string>

namespace kirtle {

struct Look {
  float scale = 1;
  ImFont* text = nullptr;
  ImFont* small = nullptr;
  ImFont* strong = nullptr;
  ImFont* large = nullptr;
};

/// Loads fonts into the current context and sets its style. Where no font of the list is installed, the
/// built-in one serves.
Look set_look(float scale);
/// The font file that text is set in; empty if none is installed.
std::filesystem::path text_font_file();

constexpr ImU32 grey(int v, int alpha = 255) { return IM_COL32(v, v, v, alpha); }
constexpr ImU32 kInkText = grey(236), kQuietText = grey(160), kPanel = grey(43), kRaised = grey(58),
                kLine = grey(78);
constexpr ImU32 kAttention =
    IM_COL32(232, 168, 92, 255);  ///< the one colour of the window, for what needs a look

}  // namespace kirtle
