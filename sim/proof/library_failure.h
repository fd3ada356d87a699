#pragma once

namespace kirtle {

/// GLib, under Pango, ends the program when it gets no memory or no thread. From now on `end` is called
/// first, with GLib's words; it should end the program in an orderly way. Outputs are whole or untouched at
/// any moment.
void on_library_failure(void (*end)(const char* words));

}  // namespace kirtle
