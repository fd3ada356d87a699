#pragma once
// Pictures of the window without a window, and how long frames take.
#include "command_line.h"

namespace kirtle {

/// Draws the window (or with `plain` the print alone) off screen and writes it as PNG. Throws InputError,
/// GlError.
void take_shot(const ViewerArguments& arguments);

/// Times frames off screen: the register of the next shirt on each, or panning and zooming. Prints a line.
void measure_frames(const ViewerArguments& arguments);

/// Is this driver one that draws in software?
bool draws_in_software(const std::string& renderer);

}  // namespace kirtle
