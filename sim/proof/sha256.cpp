#include "proof/sha256.h"

#include "base/diagnostics.h"

#include <fstream>
#include <glib.h>
#include <memory>
#include <vector>

namespace kirtle {

std::string sha256_hex(std::string_view bytes) {
  gchar* hex = g_compute_checksum_for_data(G_CHECKSUM_SHA256, reinterpret_cast<const guchar*>(bytes.data()),
                                           bytes.size());
  std::string out(hex);
  g_free(hex);
  return out;
}

std::string sha256_of_file(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  const std::unique_ptr<GChecksum, decltype(&g_checksum_free)> sum(g_checksum_new(G_CHECKSUM_SHA256),
                                                                   g_checksum_free);
  std::vector<char> piece(std::size_t{1} << 16);
  while (in) {
    in.read(piece.data(), static_cast<std::streamsize>(piece.size()));
    g_checksum_update(sum.get(), reinterpret_cast<const guchar*>(piece.data()), in.gcount());
  }
  if (!in.eof())
    throw InputError({file.string(), 0, 0}, "this file cannot be read any more",
                     "leave the plates where they are until the work is done");
  return g_checksum_get_string(sum.get());
}

}  // namespace kirtle
