#pragma once
// What the PNG and the TIFF writer share: rows are gathered into bands, bands are filtered and deflated side
// by side on several threads, and leave in order. How many rows a band has depends on the picture alone, and
// no band looks at another, so the bytes are the same on any number of threads. Internal to plate/io.
#include "base/replaced_file.h"
#include "plate/io/write_picture.h"

#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <vector>
#include <zlib.h>

namespace kirtle::detail {

/// One deflate stream, kept for many bands. Level 1 with run lengths only: for plates and flat art its files
/// are about as small as those of slower levels after the SUB filter, at a fraction of the time.
class Deflater {
 public:
  enum class Wrap { raw, zlib };
  explicit Deflater(Wrap wrap);
  ~Deflater();
  Deflater(const Deflater&) = delete;
  Deflater& operator=(const Deflater&) = delete;

  /// Appends the deflated `bytes` to `out`. `flush` is Z_SYNC_FLUSH (ends on a byte, more may follow) or
  /// Z_FINISH. Each call starts afresh: nothing before it is referred to.
  void append(std::span<const std::uint8_t> bytes, int flush, std::vector<std::uint8_t>& out);

 private:
  z_stream stream_{};
};

/// A band ready for the file.
struct PackedBand {
  std::vector<std::uint8_t> bytes;
  std::uint32_t adler = 1;   ///< Adler-32 of the unpacked bytes
  std::size_t unpacked = 0;  ///< how many those are
};

class BandedWriter : public PictureWriter {
 public:
  ~BandedWriter() override;
  void write_rows8(std::span<const std::uint8_t> rows) final;
  void write_rows16(std::span<const std::uint16_t> rows) final;
  void commit() final;

  /// Rows in each band but the last: at most 64, fewer if a band would be over 1 MiB.
  static int band_rows(const PictureFormat& format);

 protected:
  BandedWriter(const std::filesystem::path& target, const PictureFormat& format, Deflater::Wrap wrap);

  /// Filters `rows` (host byte order) into `filtered`, as the format wants it before it is deflated.
  virtual void filter(std::span<const std::uint8_t> rows, std::vector<std::uint8_t>& filtered) const = 0;
  /// How the deflate stream of a band ends. `last`: the picture's last band.
  virtual int flush_of(bool last) const = 0;
  /// Called on the worker that packed the band, after deflate: room for a checksum, say.
  virtual void seal(PackedBand&) const {}
  /// Puts one band into the file; called in order, on the caller's thread.
  virtual void put(int band, const PackedBand& packed) = 0;
  /// All bands are in the file; write what follows them.
  virtual void finish() = 0;

  ReplacedFile& file() { return file_; }
  const PictureFormat& format() const { return format_; }
  std::size_t row_bytes() const { return row_bytes_; }

 private:
  struct Worker;
  void write_bytes(std::span<const std::uint8_t> rows);
  void pack_and_put(std::span<const std::uint8_t> rows);

  ReplacedFile file_;
  PictureFormat format_;
  Deflater::Wrap wrap_;
  unsigned threads_;
  std::size_t row_bytes_;
  std::size_t band_bytes_;   // of a whole band
  std::size_t batch_bytes_;  // bands packed side by side
  std::size_t bytes_left_;   // rows still to come, those in pending_ excluded
  int next_band_ = 0;
  bool committed_ = false;
  std::vector<std::uint8_t> pending_;
  std::vector<PackedBand> packed_;
  std::vector<std::unique_ptr<Worker>> workers_;
};

std::unique_ptr<PictureWriter> open_png_writer(const std::filesystem::path& target,
                                               const PictureFormat& format);
std::unique_ptr<PictureWriter> open_tiff_writer(const std::filesystem::path& target,
                                                const PictureFormat& format);

}  // namespace kirtle::detail
