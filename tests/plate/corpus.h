#pragma once
// One invented set of plates and what it must read as, for files of every make.
#include "plate/io/plate_file.h"
#include "plate/plate_files.h"

#include <string>
#include <vector>

namespace kirtle::test {

constexpr int kCorpusWidth = 61, kCorpusHeight = 45;  // no multiple of 8, of a tile or of a strip

inline TiffSpec corpus_spec() {
  TiffSpec spec;
  spec.width = kCorpusWidth;
  spec.height = kCorpusHeight;
  return spec;
}

/// Ink of plate `plate` at (x, y), 0 .. levels - 1: none on the outermost pixels, every level inside, no
/// symmetry.
unsigned corpus_ink(int plate, int x, int y, int levels);

/// The same as 16 bit film coverage.
std::vector<std::uint16_t> corpus_film(int plate, int levels);

/// Film coverage of a plate in 16 bit: 8 bit numbers times 257.
std::vector<std::uint16_t> film_of(const PlateImage& image);

/// Every plate of the file that is not a preview, read in one call; `names` gets their names.
std::vector<PlateImage> read_all(const std::filesystem::path& file, Diagnostics& notes,
                                 std::vector<std::string>* names = nullptr);

/// Fails the test unless the file's plates are plates 0, 1, ... of the corpus, at `levels`; also when they
/// are read one by one and in reverse. `tolerance` is in 16 bit codes.
void expect_corpus(const std::filesystem::path& file, int plates, int levels, int tolerance = 0);

/// Whether a program is installed.
bool has_program(const std::string& name);
/// Runs a shell command silently; true if it exits with 0.
bool run_program(const std::string& command);

/// A binary grey map (PGM, PBM if levels is 2) of the plate as a film positive: ink is dark. Written here
/// byte by byte.
void write_grey_map(const std::filesystem::path& file, int plate, int levels);

}  // namespace kirtle::test
