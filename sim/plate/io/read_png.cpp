// PNG (ISO/IEC 15948). The chunks before the picture are looked through here, without allocating, so that
// every limit is checked first; libpng then decodes with all ancillary chunks switched off, so none of them
// can cost memory.
#include "base/units.h"
#include "plate/io/page_reader.h"
#include "plate/io/plate_rows.h"

#include <array>
#include <bit>
#include <csetjmp>
#include <cstring>
#include <png.h>
#include <zlib.h>

namespace kirtle::detail {
namespace {

constexpr std::array<std::uint8_t, 8> kSignature{0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n'};
constexpr std::size_t kCheckedChunk = 1024;  // longer ones are of no use to a plate; their content is skipped
constexpr int kMaxChunksBeforePicture = 10'000;
constexpr std::uint64_t kDeflateLimit = 1032;  // most bytes out for one byte in (zlib technical details)

enum ColourType : int { grey = 0, rgb = 2, palette = 3, grey_alpha = 4, rgba = 6 };

/// What the chunks before the picture say.
struct PngFacts {
  int width = 0, height = 0;
  double ppi = 0;
  int depth = 0;
  int colour = 0;
  bool interlaced = false;
  std::array<std::uint8_t, 768> palette_rgb{};
  int palette_size = 0;
  bool gamma = false, srgb = false, profile = false, transparent_colour = false;
};

std::uint32_t be32(const std::uint8_t* p) {
  return std::uint32_t{p[0]} << 24 | std::uint32_t{p[1]} << 16 | std::uint32_t{p[2]} << 8 | p[3];
}

bool depth_is_allowed(int colour, int depth) {
  switch (colour) {
    case grey:
      return depth == 1 || depth == 2 || depth == 4 || depth == 8 || depth == 16;
    case palette:
      return depth == 1 || depth == 2 || depth == 4 || depth == 8;
    case rgb:
    case grey_alpha:
    case rgba:
      return depth == 8 || depth == 16;
    default:
      return false;
  }
}

int channels_of(int colour) {
  switch (colour) {
    case rgb:
      return 3;
    case grey_alpha:
      return 2;
    case rgba:
      return 4;
    default:
      return 1;
  }
}

void take_ihdr(const SourceFile& file, std::span<const std::uint8_t> data, PngFacts& facts) {
  if (data.size() != 13) file.damaged("its header has the wrong length; no row was reached");
  check_plate_size(file, be32(data.data()), be32(data.data() + 4));
  facts.width = static_cast<int>(be32(data.data()));
  facts.height = static_cast<int>(be32(data.data() + 4));
  facts.depth = data[8];
  facts.colour = data[9];
  facts.interlaced = data[12] == 1;
  if (!depth_is_allowed(facts.colour, facts.depth) || data[10] != 0 || data[11] != 0 || data[12] > 1) {
    file.damaged("its header does not make sense; no row was reached");
  }
}

void take_phys(const SourceFile& file, std::span<const std::uint8_t> data, PngFacts& facts) {
  if (data.size() != 9) file.damaged("its resolution chunk has the wrong length; no row was reached");
  const double x = be32(data.data()) * kMmPerInch / 1000.0;
  const double y = be32(data.data() + 4) * kMmPerInch / 1000.0;
  const double ppi =
      agreed_ppi(file, x, y);          // unequal is an error whatever the unit: the pixels are not square
  facts.ppi = data[8] == 1 ? ppi : 0;  // unit 0 gives a shape only
}

void take_chunk(const SourceFile& file, std::string_view type, std::span<const std::uint8_t> data,
                PngFacts& facts) {
  if (type == "pHYs") {
    take_phys(file, data, facts);
  } else if (type == "gAMA") {
    facts.gamma = true;
  } else if (type == "sRGB") {
    facts.srgb = true;
  } else if (type == "iCCP") {
    facts.profile = true;
  } else if (type == "tRNS") {
    facts.transparent_colour = true;
  } else if (type == "PLTE" && data.size() <= facts.palette_rgb.size()) {
    std::copy(data.begin(), data.end(), facts.palette_rgb.begin());
    facts.palette_size = static_cast<int>(data.size() / 3);
  }
}

PngFacts look_through(const SourceFile& file) {
  PngFacts facts;
  std::array<std::uint8_t, 4 + kCheckedChunk + 4> body;  // type, data, CRC
  std::uint64_t at = kSignature.size();
  for (int chunk = 0; chunk < kMaxChunksBeforePicture; ++chunk) {
    std::array<std::uint8_t, 8> head{};
    if (file.read_at(at, head) < head.size()) file.damaged("it ends before the picture; no row was reached");
    const std::uint32_t length = be32(head.data());
    const std::string_view type(reinterpret_cast<const char*>(head.data() + 4), 4);
    if ((chunk == 0) != (type == "IHDR")) file.damaged("its chunks are out of order; no row was reached");
    if (type == "IDAT") break;
    if (type == "IEND") file.damaged("it holds no picture; no row was reached");
    if (at + 12 + length > file.size()) file.damaged("it ends before the picture; no row was reached");
    if (length <= kCheckedChunk) {
      const std::span<std::uint8_t> data(body.data(), 4 + length + 4);
      if (file.read_at(at + 4, data) < data.size())
        file.damaged("it ends before the picture; no row was reached");
      if (crc32(crc32(0, nullptr, 0), body.data(), 4 + length) != be32(body.data() + 4 + length)) {
        file.damaged("the checksum of its " + printable(type) + " chunk is wrong; no row was reached");
      }
      if (chunk == 0) {
        take_ihdr(file, data.subspan(4, length), facts);
      } else {
        take_chunk(file, type, data.subspan(4, length), facts);
      }
    } else {
      take_chunk(file, type, {}, facts);
    }
    at += 12 + std::uint64_t{length};
    if (chunk + 1 == kMaxChunksBeforePicture) file.damaged("it holds too many chunks; no row was reached");
  }
  // The least a picture of this size can be packed into: a header cannot promise what the file cannot hold.
  const std::uint64_t row_bits = std::uint64_t{static_cast<unsigned>(facts.width)} *
                                 static_cast<unsigned>(channels_of(facts.colour) * facts.depth);
  const std::uint64_t unpacked = (row_bits + 7) / 8 * static_cast<unsigned>(facts.height);
  if (unpacked > (file.size() - at) * kDeflateLimit) {
    file.damaged("its header promises " + std::to_string(facts.height) +
                 " rows, but it is too short to hold them (" + std::to_string(file.size()) + " bytes)");
  }
  if (facts.colour == palette && facts.palette_size == 0)
    file.damaged("its palette is missing; no row was reached");
  return facts;
}

/// libpng, with its errors kept as text. It reports them by longjmp, so each call sits in a function of its
/// own that holds nothing to destroy.
class Decoder {
 public:
  explicit Decoder(const SourceFile& file) : file_(file) {
    std::rewind(file.stream());
    png_ = png_create_read_struct(PNG_LIBPNG_VER_STRING, this, on_error, on_warning);
    if (png_ != nullptr) info_ = png_create_info_struct(png_);
    if (info_ == nullptr) {
      png_destroy_read_struct(&png_, nullptr, nullptr);
      throw std::bad_alloc();
    }
  }
  ~Decoder() { png_destroy_read_struct(&png_, &info_, nullptr); }
  Decoder(const Decoder&) = delete;
  Decoder& operator=(const Decoder&) = delete;

  bool start() {
    if (setjmp(png_jmpbuf(png_)) != 0) return false;
    png_set_read_fn(png_, this, on_read);
    png_set_user_limits(png_, kMaxPlateSide, kMaxPlateSide);
    png_set_keep_unknown_chunks(png_, PNG_HANDLE_CHUNK_NEVER, nullptr, -1);
    png_set_crc_action(png_, PNG_CRC_ERROR_QUIT, PNG_CRC_ERROR_QUIT);
    png_set_compression_buffer_size(png_, std::size_t{1} << 16);
    png_read_info(png_, info_);
    if (png_get_bit_depth(png_, info_) == 16 && std::endian::native == std::endian::little)
      png_set_swap(png_);
    png_start_read_image(png_);
    return true;
  }
  bool agrees_with(const PngFacts& facts) const {
    return png_get_image_width(png_, info_) == static_cast<png_uint_32>(facts.width) &&
           png_get_image_height(png_, info_) == static_cast<png_uint_32>(facts.height) &&
           png_get_bit_depth(png_, info_) == facts.depth && png_get_color_type(png_, info_) == facts.colour;
  }
  bool next_row(void* row) {
    if (setjmp(png_jmpbuf(png_)) != 0) return false;
    png_read_row(png_, static_cast<png_bytep>(row), nullptr);
    return true;
  }
  bool finish() {
    if (setjmp(png_jmpbuf(png_)) != 0) return false;
    png_read_end(png_, nullptr);
    return true;
  }
  const std::string& message() const { return message_; }

 private:
  [[noreturn]] static void on_error(png_structp png, png_const_charp text) {
    static_cast<Decoder*>(png_get_error_ptr(png))->message_ = text;
    png_longjmp(png, 1);
  }
  static void on_warning(png_structp, png_const_charp) {}
  static void on_read(png_structp png, png_bytep data, std::size_t size) {
    const auto* self = static_cast<const Decoder*>(png_get_io_ptr(png));
    if (std::fread(data, 1, size, self->file_.stream()) != size) png_error(png, "the file ends here");
  }

  const SourceFile& file_;
  png_structp png_ = nullptr;
  png_infop info_ = nullptr;
  std::string message_;
};

void note_ignored(const SourceFile& file, const PngFacts& facts, Diagnostics& notes) {
  std::vector<std::string> ignored;
  if (facts.gamma) ignored.emplace_back("the gamma tag");
  if (facts.srgb) ignored.emplace_back("the sRGB tag");
  if (facts.profile) ignored.emplace_back("the colour profile");
  note_ignored_colour(file, ignored, notes);
  if (facts.transparent_colour) notes.notice(file.place(), "the transparent colour (tRNS) is ignored");
}

PlatePage page_of(const PngFacts& facts) {
  PlatePage page;
  page.width = facts.width;
  page.height = facts.height;
  page.ppi = facts.ppi;
  page.number.bits = facts.depth;
  page.samples = channels_of(facts.colour);
  if (facts.colour == grey_alpha || facts.colour == rgba) page.alphas = {page.samples - 1};
  for (int i = 0; facts.colour == palette && i < facts.palette_size; ++i) {
    const std::uint8_t* c = facts.palette_rgb.data() + 3 * i;
    page.palette.push_back({c[0], c[1], c[2]});
  }
  PagePlate plate;
  plate.entry = entry_of(page, 0, 0, SampleKind::grey);
  plate.rgb = facts.colour == rgb || facts.colour == rgba;
  page.plates.push_back(std::move(plate));
  return page;
}

}  // namespace

bool is_png(std::span<const std::uint8_t> head) {
  return head.size() >= kSignature.size() &&
         std::memcmp(head.data(), kSignature.data(), kSignature.size()) == 0;
}

std::vector<PlatePage> png_pages(SourceFile& file) { return {page_of(look_through(file))}; }

void read_png_page(SourceFile& file, PlateRows& rows, Diagnostics& notes) {
  const PngFacts facts = look_through(file);
  const int width = facts.width;
  const int height = facts.height;
  Decoder decoder(file);
  if (!decoder.start()) file.damaged(printable(decoder.message()) + "; no row was reached");
  if (!page_of(facts).same_shape(rows.page()) || !decoder.agrees_with(facts)) file.changed();
  std::vector<std::uint16_t> scratch(static_cast<std::size_t>(width) *
                                     static_cast<std::size_t>(channels_of(facts.colour)));
  const int passes = facts.interlaced ? PNG_INTERLACE_ADAM7_PASSES : 1;
  for (int pass = 0; pass < passes; ++pass) {
    const int x0 = facts.interlaced ? static_cast<int>(PNG_PASS_START_COL(pass)) : 0;
    const int y0 = facts.interlaced ? static_cast<int>(PNG_PASS_START_ROW(pass)) : 0;
    const int x_step = facts.interlaced ? 1 << PNG_PASS_COL_SHIFT(pass) : 1;
    const int y_step = facts.interlaced ? 1 << PNG_PASS_ROW_SHIFT(pass) : 1;
    const int count = (width - x0 + x_step - 1) / x_step;
    for (int y = y0; count > 0 && y < height; y += y_step) {
      void* direct = facts.interlaced || channels_of(facts.colour) > 1 ? nullptr : rows.direct_row(y, 0);
      void* into = direct != nullptr ? direct : scratch.data();
      if (!decoder.next_row(into)) file.damaged_at_row(y, height, decoder.message());
      if (direct != nullptr) {
        rows.finish_direct_row(y);
      } else {
        rows.put(y, x0, x_step, count, into);
      }
      if (rows.done()) return;
      if (!facts.interlaced && rows.enough(y)) return note_ignored(file, facts, notes);
    }
  }
  if (!decoder.finish()) {
    file.damaged("what follows row " + std::to_string(height) + " of " + std::to_string(height) +
                 " cannot be read (" + printable(decoder.message()) + ")");
  }
  note_ignored(file, facts, notes);
}

}  // namespace kirtle::detail
