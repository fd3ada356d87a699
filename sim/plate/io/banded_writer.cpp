#include "plate/io/banded_writer.h"

#include "base/check.h"
#include "base/parallel.h"

#include <algorithm>

namespace kirtle::detail {
namespace {

constexpr int kMaxBandRows = 64;
constexpr std::size_t kMaxBandBytes = std::size_t{1} << 20;

std::size_t bytes_in_row(const PictureFormat& format) {
  return (static_cast<std::size_t>(format.width) * static_cast<std::size_t>(format.channels * format.bits) +
          7) /
         8;
}

}  // namespace

Deflater::Deflater(Wrap wrap) {
  const int window_bits = wrap == Wrap::raw ? -15 : 15;
  KIRTLE_CHECK(deflateInit2(&stream_, 1, Z_DEFLATED, window_bits, 8, Z_RLE), ==, Z_OK);
}

Deflater::~Deflater() { deflateEnd(&stream_); }

void Deflater::append(std::span<const std::uint8_t> bytes, int flush, std::vector<std::uint8_t>& out) {
  KIRTLE_CHECK(deflateReset(&stream_), ==, Z_OK);
  const std::size_t start = out.size();
  // deflateBound covers Z_FINISH; a flush adds one empty stored block.
  out.resize(start + deflateBound(&stream_, bytes.size()) + 16);
  stream_.next_in = const_cast<Bytef*>(bytes.data());  // zlib reads it only
  stream_.avail_in = static_cast<uInt>(bytes.size());
  stream_.next_out = out.data() + start;
  stream_.avail_out = static_cast<uInt>(out.size() - start);
  const int result = deflate(&stream_, flush);
  KIRTLE_CHECK(result, ==, flush == Z_FINISH ? Z_STREAM_END : Z_OK);
  KIRTLE_CHECK(stream_.avail_in, ==, 0u);
  KIRTLE_CHECK(stream_.avail_out, >, 0u);
  out.resize(out.size() - stream_.avail_out);
}

struct BandedWriter::Worker {
  explicit Worker(Deflater::Wrap wrap) : deflater(wrap) {}
  Deflater deflater;
  std::vector<std::uint8_t> filtered;
};

int BandedWriter::band_rows(const PictureFormat& format) {
  const std::size_t rows = kMaxBandBytes / bytes_in_row(format);
  return static_cast<int>(std::clamp<std::size_t>(rows, 1, kMaxBandRows));
}

BandedWriter::BandedWriter(const std::filesystem::path& target, const PictureFormat& format,
                           Deflater::Wrap wrap)
    : file_(target),
      format_(format),
      wrap_(wrap),
      threads_(format.threads == 0 ? default_threads() : format.threads),
      row_bytes_(bytes_in_row(format)),
      band_bytes_(row_bytes_ * static_cast<std::size_t>(band_rows(format))),
      batch_bytes_(band_bytes_ * threads_ * 2),
      bytes_left_(row_bytes_ * static_cast<std::size_t>(format.height)) {
  for (unsigned i = 0; i < threads_; ++i) workers_.push_back(std::make_unique<Worker>(wrap_));
}

BandedWriter::~BandedWriter() = default;

void BandedWriter::write_rows8(std::span<const std::uint8_t> rows) {
  KIRTLE_CHECK(format_.bits, <=, 8);
  write_bytes(rows);
}

void BandedWriter::write_rows16(std::span<const std::uint16_t> rows) {
  KIRTLE_CHECK(format_.bits, ==, 16);
  write_bytes({reinterpret_cast<const std::uint8_t*>(rows.data()), rows.size_bytes()});
}

void BandedWriter::write_bytes(std::span<const std::uint8_t> rows) {
  KIRTLE_CHECK(rows.size() % row_bytes_, ==, 0u);
  KIRTLE_CHECK(rows.size(), <=, bytes_left_);
  bytes_left_ -= rows.size();
  while (!rows.empty()) {
    // Whole batches go straight from the caller's memory; what is left over waits in pending_.
    if (pending_.empty() && rows.size() >= batch_bytes_) {
      pack_and_put(rows.first(batch_bytes_));
      rows = rows.subspan(batch_bytes_);
      continue;
    }
    const std::size_t taken = std::min(rows.size(), batch_bytes_ - pending_.size());
    pending_.insert(pending_.end(), rows.begin(), rows.begin() + static_cast<std::ptrdiff_t>(taken));
    rows = rows.subspan(taken);
    if (pending_.size() == batch_bytes_) {
      pack_and_put(pending_);
      pending_.clear();
    }
  }
}

void BandedWriter::pack_and_put(std::span<const std::uint8_t> rows) {
  const std::size_t bands = (rows.size() + band_bytes_ - 1) / band_bytes_;
  const int last_band = (format_.height - 1) / band_rows(format_);
  packed_.resize(std::max(packed_.size(), bands));
  parallel_for(bands, threads_, [&](std::size_t item, unsigned worker_index) {
    Worker& worker = *workers_[worker_index];
    PackedBand& packed = packed_[item];
    const std::size_t from = item * band_bytes_;
    filter(rows.subspan(from, std::min(band_bytes_, rows.size() - from)), worker.filtered);
    packed.bytes.clear();
    const bool last = next_band_ + static_cast<int>(item) == last_band;
    worker.deflater.append(worker.filtered, flush_of(last), packed.bytes);
    packed.unpacked = worker.filtered.size();
    packed.adler = static_cast<std::uint32_t>(
        adler32(adler32(0, nullptr, 0), worker.filtered.data(), static_cast<uInt>(worker.filtered.size())));
    seal(packed);
  });
  for (std::size_t i = 0; i < bands; ++i) put(next_band_++, packed_[i]);
}

void BandedWriter::commit() {
  KIRTLE_CHECK(bytes_left_, ==, 0u);  // rows are missing
  KIRTLE_CHECK(committed_, ==, false);
  if (!pending_.empty()) pack_and_put(pending_);
  pending_.clear();
  finish();
  file_.commit();
  committed_ = true;
}

}  // namespace kirtle::detail
