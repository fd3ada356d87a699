#pragma once
// libtiff's handlers: its messages are kept for ours, nothing is printed. Internal to plate/io.
#include <cstdarg>
#include <cstdio>
#include <string>
#include <tiffio.h>

namespace kirtle {

/// user: a std::string, which gets the text.
inline int keep_message(TIFF*, void* user, const char*, const char* text, va_list args) {
  char message[256];
  std::vsnprintf(message, sizeof message, text, args);
  *static_cast<std::string*>(user) = message;
  return 1;  // nothing more is to be printed
}
inline int say_nothing(TIFF*, void*, const char*, const char*, va_list) { return 1; }

}  // namespace kirtle
