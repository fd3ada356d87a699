// Seeds are made, not kept: from the records and scenes that come with Kirtle, and with libpng, libtiff,
// lcms2.
#include "fuzz/readers.h"
#include "light/icc_output.h"
#include "plate/corpus.h"
#include "range/done_file.h"

#include <algorithm>
#include <stdexcept>

namespace kirtle::test {
namespace fs = std::filesystem;

namespace {

constexpr int kWidth = 13, kHeight = 9;

Bytes bytes_from(const std::string& text) { return {text.begin(), text.end()}; }

void add_texts(const fs::path& folder, std::vector<Bytes>& out) {
  std::vector<fs::path> files;
  for (const auto& file : fs::directory_iterator(folder))
    if (file.path().extension() == ".toml") files.push_back(file.path());
  std::sort(files.begin(), files.end());
  for (const fs::path& file : files) out.push_back(bytes_of(file));
}

/// Records under the id that feed_ink() and its kin read them by.
std::vector<Bytes> records(const std::vector<std::string>& shelves) {
  std::vector<Bytes> out;
  for (const std::string& shelf : shelves) {
    add_texts(fs::path(KIRTLE_SOURCE_DIR "/inkdata") / shelf, out);
    const fs::path more = fs::path(KIRTLE_SOURCE_DIR "/tests/data/demo_materials") / shelf;
    if (fs::exists(more)) add_texts(more, out);
  }
  for (Bytes& bytes : out) {
    std::string text(bytes.begin(), bytes.end());
    const std::size_t at = text.find("\nid = \""), end = text.find('"', at + 7);
    if (at == std::string::npos || end == std::string::npos) throw std::runtime_error("a record without id");
    bytes = bytes_from(text.replace(at + 7, end - at - 7, "fuzzed"));
  }
  return out;
}

std::vector<Bytes> scenes() {
  std::vector<Bytes> out;
  for (const char* scene : {"moth", "reef", "botanical"})
    out.push_back(bytes_of(fs::path(KIRTLE_SOURCE_DIR "/scenes") / scene / "scene.toml"));
  add_texts(KIRTLE_SOURCE_DIR "/tests/data/demo_scenes", out);
  out.push_back(bytes_from(R"(schema = 1
title = "every key"
shirt = "black-cotton"
ppi = 300
[art]
box = [1, "2 mm", 30, "1 in"]
[compare]
light = "a"
dark = "b"
wet_limit_cm3_m2 = 60
ink_build_limit_um = 150
[view]
light = "LED-B3"
observer = 10
surface = false
[dryer]
steps = [{ temperature = "320 F", seconds = "1.5 min" }]
[discharge]
pot_hours = 2
t_ref = "160 C"
[press]
revolutions = 2
holds = "0.25 mm"
seed = 3
bad_pallet = { number = 2, offset = [0.1, "0.2 mm"], from_pass = 2 }
wet_trapping = 0.7
[model]
yule_nielsen_n = 2
[[plate]]
name = "a"
file = "plates/cream.png"
ink_is = "dark"
[[plate]]
name = "b"
file = "plates/shading.png"
ink_is = "light"
customer_ink = "x"
[[pass]]
plate = "a"
ink = "base-white"
mesh = { count = "61/cm", thread_um = 64, fabric_um = 105 }
dot = "noise"
dot_size_um = 60
flash = true
flash_shrink_percent = 0.5
strokes = 2
[[pass]]
plate = "b"
ink = "red"
mesh = "156/in"
steps = [[10, 20], [50, 70]]
curve_on_film = "plates"
offset = [0.1, -0.1]
turn_deg = 0.1
stretch_percent = [0.1, 0]
transfer = 0.6
)"));
  return out;
}

Bytes order() {
  return bytes_from(R"(schema = 1
customer = "Harbour choir"
order = "2026-117"
note = "by noon"
date = 2026-11-25
due = 2026-12-11
version = 3
replaces = 2
screen_sets = "two"
colours_may_shift = "0.4 mm"
[[print]]
location = "front"
scene = "moth.toml"
width = "12 in"
drop = 70
[[shirts]]
shirt = "forest-green-cotton"
style = "heavy tee"
quantities = { YM = 6, S = 12, "2XL" = 8 }
)");
}

std::vector<Bytes> pngs() {
  const TempFolder folder;
  std::vector<Bytes> out;
  const auto keep = [&](PngSpec spec) {
    spec.width = kWidth;
    spec.height = kHeight;
    make_png(folder / "seed.png", spec,
             [&](int x, int y, int) { return corpus_ink(0, x, y, 1 << std::min(spec.depth, 8)); });
    out.push_back(bytes_of(folder / "seed.png"));
  };
  for (const bool interlaced : {false, true}) {
    for (const int depth : {1, 2, 4, 8, 16}) {
      PngSpec spec;
      spec.depth = depth;
      spec.interlaced = interlaced;
      keep(spec);
    }
    for (const int colour : {PNG_COLOR_TYPE_GRAY_ALPHA, PNG_COLOR_TYPE_RGB, PNG_COLOR_TYPE_RGB_ALPHA}) {
      PngSpec spec;
      spec.colour = colour;
      spec.interlaced = interlaced;
      keep(spec);
    }
  }
  PngSpec full;
  full.per_unit_x = full.per_unit_y = 11811;
  full.gamma = full.transparent_colour = true;
  keep(full);
  PngSpec palette;
  palette.colour = PNG_COLOR_TYPE_PALETTE;
  palette.depth = 2;
  palette.palette = {{0, 0, 0}, {80, 80, 80}, {160, 160, 160}, {255, 255, 255}};
  keep(palette);
  return out;
}

std::vector<Bytes> tiffs() {
  const TempFolder folder;
  std::vector<Bytes> out;
  const auto keep = [&](TiffSpec spec) {
    spec.width = kWidth;
    spec.height = kHeight;
    make_tiff(folder / "seed.tif", spec,
              [&](int x, int y, int c) { return corpus_ink(c, x, y, 1 << std::min(spec.depth, 8)); });
    out.push_back(bytes_of(folder / "seed.tif"));
  };
  for (const int compression : {COMPRESSION_NONE, COMPRESSION_PACKBITS, COMPRESSION_LZW,
                                COMPRESSION_ADOBE_DEFLATE, COMPRESSION_ZSTD, COMPRESSION_LZMA}) {
    TiffSpec spec;
    spec.compression = compression;
    keep(spec);
    spec.photometric = PHOTOMETRIC_SEPARATED;
    spec.samples = spec.number_of_inks = 3;
    spec.ink_set = INKSET_MULTIINK;
    spec.ink_names = std::string("a\0b\0c\0", 6);
    spec.planar = PLANARCONFIG_SEPARATE;
    spec.mode = "wb8";
    keep(spec);
  }
  for (const int compression : {COMPRESSION_CCITTRLE, COMPRESSION_CCITTFAX3, COMPRESSION_CCITTFAX4}) {
    TiffSpec spec;
    spec.depth = 1;
    spec.compression = compression;
    keep(spec);
  }
  TiffSpec tiled;
  tiled.depth = 16;
  tiled.tile = 16;
  tiled.compression = COMPRESSION_LZW;
  tiled.predictor = 2;
  tiled.x_res = tiled.y_res = 300;
  keep(tiled);
  TiffSpec floats;
  floats.depth = 32;
  floats.float_top = 255;
  floats.mode = "wb";
  keep(floats);
  TiffSpec spots;
  spots.photometric = PHOTOMETRIC_RGB;
  spots.samples = 5;
  spots.extras = {EXTRASAMPLE_UNSPECIFIED, EXTRASAMPLE_ASSOCALPHA};
  spots.pages = 2;
  spots.page_name = "base";
  keep(spots);
  TiffSpec cmyk;
  cmyk.photometric = PHOTOMETRIC_SEPARATED;
  cmyk.samples = 4;
  cmyk.dot_none = 255;
  cmyk.dot_solid = 0;
  keep(cmyk);
  for (const int compression : {COMPRESSION_JPEG, COMPRESSION_WEBP}) {
    if (TIFFIsCODECConfigured(static_cast<std::uint16_t>(compression)) == 0) continue;
    TiffSpec spec;
    spec.compression = compression;
    spec.rows_per_strip = 16;
    if (compression == COMPRESSION_WEBP) {
      spec.photometric = PHOTOMETRIC_RGB;
      spec.samples = 3;
    }
    keep(spec);
  }
  return out;
}

std::vector<Bytes> profiles() {
  IccSettings settings;
  settings.source_white = {96.42, 100, 82.49};
  const IccOutput srgb = IccOutput::srgb(settings);
  std::vector<Bytes> out(1);
  for (const std::byte b : srgb.profile_bytes()) out[0].push_back(std::to_integer<std::uint8_t>(b));
  return out;
}

Bytes done() {
  RangeItem item;
  item.shirt = "black-cotton";
  item.key = std::string(64, '0');
  item.shirt_name = "Black";
  item.fibre_text = "100 % cotton";
  item.not_tried = {"none"};
  item.plates_sent_back = {"thin-line"};
  RangeLine line;
  line.id = "as-is";
  line.called = "as it is";
  line.screens = 2;
  line.figures.why = {{"another-colour", "brief", "what"}};
  line.figures.width = 3;
  line.figures.height = 2;
  line.figures.rgb.assign(18, 77);
  item.lines = {line, line};
  const std::string bytes = done_bytes(item);
  return bytes_from(bytes.substr(bytes.find('\n') + 1));  // feed_done() puts the line of checksum before it
}

}  // namespace

std::vector<Bytes> seeds_of(const std::string& reader) {
  if (reader == "scene" || reader == "print") return scenes();
  if (reader == "order") return {order(), scenes().front()};
  if (reader == "ink") return records({"inks"});
  if (reader == "shirt") return records({"shirts"});
  if (reader == "record") return records({"meshes", "presses", "fibres", "dyes"});
  if (reader == "png" || reader == "art") return pngs();
  if (reader == "tiff") return tiffs();
  if (reader == "icc") return profiles();
  if (reader == "done") return {done()};
  if (reader == "list") return {bytes_from("# two\nblack-cotton\n\n  white-cotton # the other\r\n")};
  throw std::runtime_error("no reader is named " + reader);
}

}  // namespace kirtle::test
