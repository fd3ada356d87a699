#pragma once
// What a file is, by its first bytes. Internal to plate/io.
#include "plate/io/source_file.h"

namespace kirtle::detail {

enum class FileKind { png, tiff };

/// Throws InputError, saying what the file looks like, unless it is one of these.
FileKind kind_of(const SourceFile& file);

}  // namespace kirtle::detail
