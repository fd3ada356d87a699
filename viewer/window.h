#pragma once
// The window itself: GLFW, Dear ImGui's backends, files dropped, drawing only when something changed.
#include "command_line.h"

namespace kirtle {

/// Opens the window and stays until it is closed. Throws InputError, GlError.
void run_window(const ViewerArguments& arguments);

}  // namespace kirtle
