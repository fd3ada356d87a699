#include "fuzz/readers.h"
#include "job/read_order.h"
#include "job/read_scene.h"
#include "job/records.h"
#include "predict/prediction.h"

#include <cmath>

namespace kirtle::test {
namespace {

std::string_view text_of(std::span<const std::uint8_t> bytes) {
  return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

Library& library() {
  static Library shelves({KIRTLE_SOURCE_DIR "/inkdata"});
  return shelves;
}

/// The document as the record "fuzzed", and what `read` makes of it.
template <class Read>
void feed(std::span<const std::uint8_t> bytes, Read read) {
  if (bytes.size() > kMaxDocumentBytes) return;  // read_document refuses it
  Diagnostics faults;
  const std::optional<Document> document = parse_document(text_of(bytes), "fuzzed.toml", faults);
  if (!document && !faults.has_errors()) found("no document and no error");
  if (!document) return;
  const auto record = read(*document, faults);
  if (!record && !faults.has_errors()) found("no record and no error");
}

void expect_finite(const Spectrum& s, const char* of) {
  for (const double v : s.v)
    if (!std::isfinite(v)) found(std::string(of) + " is not finite");
}

/// A few colours of an accepted scene.
void print(const Scene& scene) {
  const PrintModel model(scene);
  for (const double film : {0.0, 0.4, 1.0}) {
    std::vector<double> printed;
    for (const PrintingPlate& plate : model.plates) printed.push_back(plate.tone.printed(film));
    const XYZ xyz = model.table.mix(printed);
    if (!std::isfinite(xyz.x) || !std::isfinite(xyz.y) || !std::isfinite(xyz.z) || xyz.y < 0)
      found("a colour of the print is none");
  }
}

}  // namespace

void feed_scene(std::span<const std::uint8_t> bytes) {
  const std::string file = as_file(bytes, "scene.toml");
  try {
    read_scene(file);
  } catch (const InputError&) {
  }
}

void feed_print(std::span<const std::uint8_t> bytes) {
  const std::string file = as_file(bytes, "scene.toml");
  try {
    print(read_scene(file));
  } catch (const InputError&) {
  }
}

void feed_order(std::span<const std::uint8_t> bytes) {
  const std::string file = as_file(bytes, "order.toml");
  try {
    const Order order = read_order(file);
    if (order.total() < 0) found("an order of fewer than no shirts");
  } catch (const InputError&) {
  }
}

void feed_ink(std::span<const std::uint8_t> bytes) {
  feed(bytes, [](const Document& document, Diagnostics& faults) {
    auto ink = read_ink(document, library(), faults);
    if (ink) expect_finite(ink->optics.k, "K of an ink");
    if (ink) expect_finite(ink->optics.s, "S of an ink");
    return ink;
  });
}

void feed_shirt(std::span<const std::uint8_t> bytes) {
  feed(bytes, [](const Document& document, Diagnostics& faults) {
    auto shirt = read_shirt(document, library(), faults);
    if (shirt) {
      for (const ClothFibre& fibre : shirt->fibres) {
        expect_finite(fibre.fibre.k, "K of a fibre");
        expect_finite(fibre.fibre.s, "S of a fibre");
      }
    }
    return shirt;
  });
}

void feed_record(std::span<const std::uint8_t> bytes) {
  feed(bytes, [](const Document& document, Diagnostics& faults) { return read_mesh(document, faults); });
  feed(bytes, [](const Document& document, Diagnostics& faults) { return read_press(document, faults); });
  feed(bytes, [](const Document& document, Diagnostics& faults) { return read_fibre(document, faults); });
  feed(bytes, [](const Document& document, Diagnostics& faults) { return read_dye(document, faults); });
}

}  // namespace kirtle::test
