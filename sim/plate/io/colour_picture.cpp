#include "plate/io/colour_picture.h"

#include "base/diagnostics.h"
#include "plate/io/source_file.h"

#include <array>
#include <png.h>

namespace kirtle {
namespace {

constexpr const char* kRemedy = "save it as an 8-bit PNG in sRGB";

struct Opened {
  png_image image{};
  Opened() { image.version = PNG_IMAGE_VERSION; }
  ~Opened() { png_image_free(&image); }
  Opened(const Opened&) = delete;
  Opened& operator=(const Opened&) = delete;
};

}  // namespace

ColourPicture read_colour_png(const std::filesystem::path& path) {
  const detail::SourceFile file(path);
  std::array<std::uint8_t, 8> head{};
  file.read_at(0, head);
  if (!detail::is_png(head)) file.refuse("this is not a PNG", kRemedy);
  Opened opened;
  png_image& image = opened.image;
  if (png_image_begin_read_from_stdio(&image, file.stream()) == 0)
    file.damaged(printable(image.message) + "; no row was reached");
  const std::uint64_t width = image.width, height = image.height, side = kMaxPlateSide;
  if (width > side || height > side || width * height > kMaxColourPixels) {
    file.refuse("the picture is " + std::to_string(width) + " x " + std::to_string(height) +
                    " pixels; art may have " + std::to_string(side) + " a side and " +
                    std::to_string(kMaxColourPixels / 1'000'000) + " million in all",
                "save it smaller: it is fitted to the plates' tones, not to their pixels");
  }
  // A pixel takes at least one bit, and one byte unpacks to at most 1032 (zlib technical details).
  if (width * height / 8 > file.size() * 1032)
    file.damaged("its header promises " + std::to_string(height) +
                 " rows, but it is too short to hold them (" + std::to_string(file.size()) + " bytes)");
  image.format = PNG_FORMAT_RGB;
  ColourPicture picture;
  picture.width = static_cast<int>(width);
  picture.height = static_cast<int>(height);
  picture.rgb.resize(3 * width * height);
  const png_color paper{255, 255, 255};
  if (png_image_finish_read(&image, &paper, picture.rgb.data(), 0, nullptr) == 0)
    file.damaged(printable(image.message));
  return picture;
}

}  // namespace kirtle
