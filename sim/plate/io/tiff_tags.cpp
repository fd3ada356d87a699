#include "plate/io/tiff_tags.h"

#include <array>

namespace kirtle::detail {
namespace {

constexpr std::uint64_t kMaxEntries = 4096;
constexpr std::uint64_t kMaxTextBytes = 65536;
enum Type : int { byte = 1, ascii = 2, word = 3, dword = 4 };

int size_of(int type) { return type == word ? 2 : type == dword ? 4 : 1; }

}  // namespace

TiffTags::TiffTags(const SourceFile& file, std::uint64_t offset) : file_(file) {
  std::array<std::uint8_t, 8> head{};
  file.read_at(0, head);
  big_endian_ = head[0] == 'M';
  big_tiff_ = number(head.data() + 2, 2) == 43;
  const int count_bytes = big_tiff_ ? 8 : 2;
  std::array<std::uint8_t, 8> counted{};
  const auto count_span = std::span(counted).first(static_cast<std::size_t>(count_bytes));
  if (file.read_at(offset, count_span) < count_span.size())
    file.damaged("its tags lie beyond its end; no row was reached");
  const std::uint64_t count = number(counted.data(), count_bytes);
  if (count > kMaxEntries) {
    file.damaged("it holds " + std::to_string(count) + " tags, at most " + std::to_string(kMaxEntries) +
                 " are read; no row was reached");
  }
  entries_.resize(count * (big_tiff_ ? 20 : 12));
  if (file.read_at(offset + static_cast<unsigned>(count_bytes), entries_) < entries_.size())
    file.damaged("its tags lie beyond its end; no row was reached");
}

std::uint64_t TiffTags::number(const std::uint8_t* at, int bytes) const {
  std::uint64_t v = 0;
  for (int i = 0; i < bytes; ++i) v = v << 8 | at[big_endian_ ? i : bytes - 1 - i];
  return v;
}

std::optional<TiffTags::Found> TiffTags::find(int tag, const char* name, std::uint64_t most) const {
  const std::size_t step = big_tiff_ ? 20 : 12;
  for (std::size_t at = 0; at + step <= entries_.size(); at += step) {
    const std::uint8_t* entry = entries_.data() + at;
    if (number(entry, 2) != static_cast<unsigned>(tag)) continue;
    Found found;
    found.type = static_cast<int>(number(entry + 2, 2));
    found.count = number(entry + 4, big_tiff_ ? 8 : 4);
    if (found.count > most) {
      file_.damaged(std::string("its ") + name + " tag has " + std::to_string(found.count) +
                    " values, at most " + std::to_string(most) + " are read; no row was reached");
    }
    const std::uint8_t* value = entry + (big_tiff_ ? 12 : 8);
    const std::size_t inside = big_tiff_ ? 8 : 4;
    const std::size_t bytes = found.count * static_cast<unsigned>(size_of(found.type));
    if (bytes <= inside) {
      found.bytes.assign(value, value + bytes);
      return found;
    }
    found.bytes.resize(bytes);
    if (file_.read_at(number(value, static_cast<int>(inside)), found.bytes) < bytes)
      file_.damaged(std::string("its ") + name + " tag lies beyond its end; no row was reached");
    return found;
  }
  return std::nullopt;
}

std::optional<std::vector<std::uint32_t>> TiffTags::numbers(int tag, const char* name,
                                                            std::uint64_t most) const {
  const std::optional<Found> found = find(tag, name, most);
  if (!found) return std::nullopt;
  if (found->type != byte && found->type != word && found->type != dword) {
    file_.damaged(std::string("its ") + name + " tag is of type " + std::to_string(found->type) +
                  ", not whole numbers; no row was reached");
  }
  std::vector<std::uint32_t> values;
  const int size = size_of(found->type);
  for (std::size_t i = 0; i < found->count; ++i) {
    values.push_back(
        static_cast<std::uint32_t>(number(found->bytes.data() + i * static_cast<std::size_t>(size), size)));
  }
  return values;
}

std::optional<std::string> TiffTags::text(int tag, const char* name) const {
  const std::optional<Found> found = find(tag, name, kMaxTextBytes);
  if (!found) return std::nullopt;
  if (found->type != ascii && found->type != byte)
    file_.damaged(std::string("its ") + name + " tag is not text; no row was reached");
  return std::string(found->bytes.begin(), found->bytes.end());
}

}  // namespace kirtle::detail
