#pragma once
// Rows of samples out of a PNG or TIFF become film coverage in one or several plates. Internal to plate/io.
#include "plate/io/ink_codes.h"
#include "plate/io/source_file.h"

namespace kirtle::detail {

class PlateRows {
 public:
  /// Makes room for the plates `wanted` of the page: sizes must have been checked. rows_wanted: from the top.
  PlateRows(const SourceFile& file, const PlatePage& page, const std::vector<const PagePlate*>& wanted,
            Polarity grey_polarity, int rows_wanted);
  /// Keeps nothing: looks whether `plate` has colour.
  PlateRows(const SourceFile& file, const PlatePage& page, const PagePlate& plate);

  const PlatePage& page() const { return page_; }
  /// Colour was looked for and found: nothing more need be read.
  bool done() const { return !colour_.empty(); }
  /// Rows 0 .. y are there, and nothing hangs on those below.
  bool enough(int y);
  /// Where the first colour is and what; "" if there is none.
  const std::string& colour() const { return colour_; }
  [[noreturn]] static void refuse_colour(const SourceFile& file, const std::string& colour);

  /// Where row y of one sample, alone in its rows, may be read straight into, to be followed by
  /// finish_direct_row(); nullptr if it must go through put() or put_plane().
  void* direct_row(int y, int sample);
  void finish_direct_row(int y);

  /// Whether put_plane() has a use for this sample.
  bool wants_plane(int sample) const;

  /// `count` pixels, all samples of each interleaved and packed as in the file, to (x0, y), (x0 + step, y),
  /// ... Throws InputError at a pixel with colour and at a number out of range.
  void put(int y, int x0, int step, int count, const void* packed);
  /// The same for one sample of a planar picture; samples in rising order.
  void put_plane(int sample, int y, int x0, int count, const void* packed);

  /// The plates in the order wanted; notices of what was accepted or ignored.
  std::vector<PlateImage> take(Diagnostics& notes);

 private:
  struct Sink {
    const PagePlate* plate;
    InkCodes codes;
    PlateImage image;
  };
  struct Run {
    int y, x0, step, count, samples;  // samples: from one pixel to the next
  };
  template <class In>
  void put_run(const Run& run, const In* samples);
  template <class In>
  void store(Sink& sink, const Run& run, const In* sample);
  template <class In>
  void check_equal(const Sink& sink, const Run& run, const In* samples);
  template <class In>
  void compare_plane(const Sink& sink, const Run& run, const In* samples, bool blue);
  template <class In>
  void watch_alpha(const Run& run, const In* samples);
  void check_palette(const Run& run, const std::uint8_t* samples);
  void found_colour(int x, int y, const std::string& found);
  std::string place_of(int x, int y) const;

  const SourceFile& file_;
  const PlatePage& page_;
  bool keep_ = true;
  bool transparent_ = false;
  int rows_wanted_ = 0;
  std::string colour_;
  std::vector<Sink> sinks_;
  UnpackedRow row_;
};

}  // namespace kirtle::detail
