#include "proof/library_failure.h"

#include <glib.h>

namespace kirtle {

void on_library_failure(void (*end)(const char* words)) {
  static void (*end_program)(const char*) = nullptr;
  end_program = end;
  g_log_set_default_handler(
      [](const gchar* domain, GLogLevelFlags level, const gchar* words, gpointer user) {
        if ((level & G_LOG_FLAG_FATAL) != 0) end_program(words);
        g_log_default_handler(domain, level, words, user);
      },
      nullptr);
}

}  // namespace kirtle
