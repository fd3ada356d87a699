#include "plate/io/source_file.h"

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <cstring>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

namespace kirtle::detail {

SourceFile::SourceFile(const std::filesystem::path& file) : path_(file), name_(file.string()) {
  // O_NONBLOCK: a named pipe must be refused, not waited for.
  const int fd = ::open(file.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);
  if (fd < 0) {
    const int cause = errno;
    if (cause == ENOENT || cause == ENOTDIR) {
      refuse("there is no such file", "check the name and the folder; names are case-sensitive");
    }
    if (cause == EACCES || cause == EPERM) {
      refuse("you may not read this file",
             "ask its owner for the right to read it, or copy it to your own folder");
    }
    refuse(std::string("cannot open this file: ") + std::strerror(cause),
           "check the disk or the network drive");
  }
  struct stat facts {};
  if (::fstat(fd, &facts) != 0) facts.st_mode = 0;
  if (!S_ISREG(facts.st_mode)) {
    ::close(fd);
    refuse(S_ISDIR(facts.st_mode) ? "this is a folder, not a plate" : "this is not an ordinary file",
           "name one PNG or TIFF file");
  }
  if (facts.st_size == 0) {
    ::close(fd);
    refuse("the file is empty (0 bytes)", "export the plate again; the disk may have been full");
  }
  size_ = static_cast<std::uint64_t>(facts.st_size);
  if (size_ > kMaxPlateFileBytes) {
    ::close(fd);
    refuse("the file has " + std::to_string(size_) + " bytes; up to " + std::to_string(kMaxPlateFileBytes) +
               " (16 GiB) are read",
           "export each plate as a file of its own, packed (LZW, ZIP)");
  }
  stream_ = ::fdopen(fd, "rb");
  if (stream_ == nullptr) {
    const int cause = errno;
    ::close(fd);
    refuse(std::string("cannot open this file: ") + std::strerror(cause),
           "close other programs and try again");
  }
}

SourceFile::~SourceFile() {
  if (stream_ != nullptr) std::fclose(stream_);
}

int SourceFile::descriptor() const { return ::fileno(stream_); }

std::size_t SourceFile::read_at(std::uint64_t offset, std::span<std::uint8_t> bytes) const {
  std::size_t done = 0;
  while (done < bytes.size()) {
    const ssize_t got =
        ::pread(descriptor(), bytes.data() + done, bytes.size() - done, static_cast<off_t>(offset + done));
    if (got < 0 && errno == EINTR) continue;
    if (got < 0)
      refuse(std::string("cannot read this file: ") + std::strerror(errno),
             "check the disk or the network drive");
    if (got == 0) break;
    done += static_cast<std::size_t>(got);
  }
  return done;
}

std::string SourceFile::about_page(const std::string& message) const {
  return page_ < 0 ? message : "page " + std::to_string(page_ + 1) + ": " + message;
}

void SourceFile::refuse(const std::string& message, const std::string& remedy) const {
  throw InputError(place(), about_page(message), remedy);
}

void SourceFile::damaged(const std::string& what) const {
  refuse("the file is damaged or cut short: " + what, "copy or export it again; nothing of it was used");
}

void SourceFile::damaged_at_row(int row, int rows, const std::string& detail) const {
  std::string what = "row " + std::to_string(row + 1) + " of " + std::to_string(rows) + " cannot be read";
  if (!detail.empty()) what += " (" + printable(detail) + ")";
  damaged(what);
}

void SourceFile::changed() const {
  refuse("the file is not what it was when its plates were listed",
         "wait until the export is done, and try again");
}

void check_plate_size(const SourceFile& file, std::uint64_t width, std::uint64_t height) {
  const std::string found = std::to_string(width) + " x " + std::to_string(height) + " pixels";
  if (width == 0 || height == 0)
    file.refuse("the picture has no pixels (" + found + ")", "export the plate again");
  constexpr auto side = static_cast<std::uint64_t>(kMaxPlateSide);
  if (width > side || height > side || width * height > kMaxPlatePixels) {
    file.refuse("the picture is " + found + "; a plate may have " + std::to_string(kMaxPlateSide) +
                    " a side and " + std::to_string(kMaxPlatePixels / 1'000'000) + " million in all",
                "export at a lower resolution or crop to the print area; a damaged header can also say this");
  }
}

double agreed_ppi(const SourceFile& file, double x_ppi, double y_ppi) {
  const auto stated = [](double v) { return std::isfinite(v) && v > 0; };
  if (!stated(x_ppi) && !stated(y_ppi)) return 0;
  if (!stated(x_ppi)) x_ppi = y_ppi;
  if (!stated(y_ppi)) y_ppi = x_ppi;
  if (std::abs(x_ppi - y_ppi) > 1e-4 * std::max(x_ppi, y_ppi)) {
    char found[96];
    std::snprintf(found, sizeof found, "%.6g across and %.6g down", x_ppi, y_ppi);
    file.refuse(std::string("the resolution is not the same both ways: ") + found + " pixels per inch",
                "export with square pixels");
  }
  // A PNG holds whole pixels per metre, many a TIFF hundredths per centimetre: both are .0254 ppi, and some
  // programs round, some cut off what is behind the point (150 ppi are 5905.51 per metre).
  constexpr double kRounding = 0.0254;
  const double whole = std::round(x_ppi);
  return whole >= 1 && std::abs(x_ppi - whole) < kRounding ? whole : x_ppi;
}

void note_ignored_colour(const SourceFile& file, const std::vector<std::string>& ignored,
                         Diagnostics& notes) {
  if (ignored.empty()) return;
  std::string list;
  for (std::size_t i = 0; i < ignored.size(); ++i) {
    if (i > 0) list += i + 1 == ignored.size() ? " and " : ", ";
    list += ignored[i];
  }
  notes.notice(file.place(), file.about_page("plate values are read as per cent on film; " + list +
                                             (ignored.size() == 1 ? " is ignored" : " are ignored")));
}

}  // namespace kirtle::detail
