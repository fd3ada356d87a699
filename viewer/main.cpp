// kirtle-view: the predicted print on the table. Exit status as kirtle's: 0 done, 2 the input is wrong, 1
// anything else.
#include "command_line.h"
#include "gl.h"
#include "shot.h"
#include "window.h"

#include <cstdio>

int main(int argc, char** argv) {
  using namespace kirtle;
  try {
    ViewerArguments arguments;
    if (const std::optional<int> status = read_arguments(argc, argv, arguments)) return *status;
    if (arguments.frames > 0)
      measure_frames(arguments);
    else if (arguments.shot)
      take_shot(arguments);
    else
      run_window(arguments);
    return 0;
  } catch (const InputError& e) {
    std::fprintf(stderr, "%s\n", e.what());
    return 2;
  } catch (const GlError& e) {
    std::fprintf(
        stderr,
        "error: %s\n  fix: kirtle-view needs a graphics driver with OpenGL 3.3 (Mesa's software one will do: "
        "libgl1-mesa-dri, libegl1);\n       kirtle predict SCENE -o FILE.png draws the print without any\n",
        e.what());
    return 1;
  } catch (const std::exception& e) {
    std::fprintf(stderr, "error: %s\n", e.what());
    return 1;
  }
}
