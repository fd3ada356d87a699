#include "proof/html_parts.h"

#include <cstdio>  // before jpeglib.h, which needs FILE
#include <cstdlib>
#include <glib.h>
#include <jpeglib.h>
#include <memory>
#include <new>
#include <stdexcept>

namespace kirtle {

std::string html_text(std::string_view text) {
  std::string out;
  for (const char c : clean_text(text)) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        out += c;
    }
  }
  return out;
}

namespace {

[[noreturn]] void jpeg_failed(j_common_ptr info) {
  char text[JMSG_LENGTH_MAX];
  info->err->format_message(info, text);
  throw std::runtime_error(std::string("making a JPEG failed: ") + text);
}

/// The library's state, released whichever way the function is left.
struct Compressor {
  Compressor() {
    info.err = jpeg_std_error(&errors);
    errors.error_exit = jpeg_failed;
    jpeg_create_compress(&info);
  }
  ~Compressor() {
    jpeg_destroy_compress(&info);
    std::free(bytes);
  }
  Compressor(const Compressor&) = delete;
  Compressor& operator=(const Compressor&) = delete;
  jpeg_compress_struct info{};
  jpeg_error_mgr errors{};
  unsigned char* bytes = nullptr;
  unsigned long size = 0;
};

}  // namespace

std::string jpeg_bytes(const PagePicture& picture, int quality) {
  Compressor jpeg;
  jpeg_mem_dest(&jpeg.info, &jpeg.bytes, &jpeg.size);
  jpeg.info.image_width = static_cast<JDIMENSION>(picture.width);
  jpeg.info.image_height = static_cast<JDIMENSION>(picture.height);
  jpeg.info.input_components = 3;
  jpeg.info.in_color_space = JCS_RGB;
  jpeg_set_defaults(&jpeg.info);
  jpeg_set_quality(&jpeg.info, quality, TRUE);
  jpeg.info.dct_method = JDCT_ISLOW;  // exact in integers, on every processor
  jpeg.info.optimize_coding = TRUE;
  jpeg.info.comp_info[0].h_samp_factor = jpeg.info.comp_info[0].v_samp_factor = 1;
  jpeg_start_compress(&jpeg.info, TRUE);
  std::vector<JSAMPLE> row(3 * static_cast<std::size_t>(picture.width));
  const std::uint8_t* from = picture.rgba.data();
  while (jpeg.info.next_scanline < jpeg.info.image_height) {
    for (std::size_t x = 0; x < static_cast<std::size_t>(picture.width); ++x, from += 4)
      for (std::size_t c = 0; c < 3; ++c) row[3 * x + c] = from[c];
    JSAMPROW line = row.data();
    jpeg_write_scanlines(&jpeg.info, &line, 1);
  }
  jpeg_finish_compress(&jpeg.info);
  return {reinterpret_cast<const char*>(jpeg.bytes), jpeg.size};
}

std::string base64(std::string_view bytes) {
  const std::unique_ptr<gchar, decltype(&g_free)> text(
      g_base64_encode(reinterpret_cast<const guchar*>(bytes.data()), bytes.size()), g_free);
  return text.get();
}

std::string csp_digest(std::string_view inline_text) {
  const std::unique_ptr<GChecksum, decltype(&g_checksum_free)> sum(g_checksum_new(G_CHECKSUM_SHA256),
                                                                   g_checksum_free);
  g_checksum_update(sum.get(), reinterpret_cast<const guchar*>(inline_text.data()),
                    static_cast<gssize>(inline_text.size()));
  std::string digest(32, '\0');
  gsize size = digest.size();
  g_checksum_get_digest(sum.get(), reinterpret_cast<guint8*>(digest.data()), &size);
  return "'sha256-" + base64(digest) + "'";
}

}  // namespace kirtle
