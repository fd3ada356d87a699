#include "light/icc_output.h"

#include "base/check.h"
#include "base/diagnostics.h"
#include "light/adapt.h"
#include "light/delta_e_2000.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <fstream>
#include <lcms2.h>
#include <limits>
#include <system_error>
#include <utility>
#include <vector>

namespace kirtle {
namespace {

constexpr std::size_t kHeaderBytes = 128;
constexpr std::size_t kLeastBytes = kHeaderBytes + 4;  // and the count of tags
constexpr std::uintmax_t kMostBytes = 256u << 20;
constexpr cmsUInt32Number kXyzFloat = FLOAT_SH(1) | COLORSPACE_SH(PT_XYZ) | CHANNELS_SH(3) | BYTES_SH(4);
constexpr cmsUInt32Number kLabFloat = FLOAT_SH(1) | COLORSPACE_SH(PT_Lab) | CHANNELS_SH(3) | BYTES_SH(4);
constexpr cmsUInt32Number kExactFlags = cmsFLAGS_NOCACHE | cmsFLAGS_NOOPTIMIZE;
constexpr const char* kGetAnother = "give the ICC profile of the printer, monitor or picture space";

struct ContextDeleter {
  void operator()(_cmsContext_struct* c) const { cmsDeleteContext(c); }
};
struct ProfileDeleter {
  void operator()(void* p) const { cmsCloseProfile(p); }
};
struct TransformDeleter {
  void operator()(void* t) const { cmsDeleteTransform(t); }
};
using Context = std::unique_ptr<_cmsContext_struct, ContextDeleter>;
using Profile = std::unique_ptr<void, ProfileDeleter>;
using Transform = std::unique_ptr<void, TransformDeleter>;

/// lcms2 tells its errors to a function; they end up in the string that the context carries.
void keep_error(cmsContext context, cmsUInt32Number, const char* text) {
  auto* kept = static_cast<std::string*>(cmsGetContextUserData(context));
  if (kept != nullptr && kept->empty()) *kept = printable(text);
}

[[noreturn]] void refuse(std::string_view name, std::string message, const char* remedy = kGetAnother) {
  throw InputError({std::string(name)}, std::move(message), remedy);
}

cmsUInt32Number lcms_intent(Intent intent) {
  switch (intent) {
    case Intent::perceptual:
      return INTENT_PERCEPTUAL;
    case Intent::relative:
      return INTENT_RELATIVE_COLORIMETRIC;
    case Intent::saturation:
      return INTENT_SATURATION;
    case Intent::absolute:
      return INTENT_ABSOLUTE_COLORIMETRIC;
  }
  return INTENT_RELATIVE_COLORIMETRIC;
}

std::uint32_t big_endian(std::span<const std::byte> bytes, std::size_t at) {
  std::uint32_t value = 0;
  for (std::size_t i = 0; i < 4; ++i) value = value << 8 | std::to_integer<std::uint32_t>(bytes[at + i]);
  return value;
}

/// Four-letter code, for messages.
std::string code_text(std::uint32_t code) {
  std::string out;
  for (int shift = 24; shift >= 0; shift -= 8) out += static_cast<char>(code >> shift & 0xff);
  while (!out.empty() && out.back() == ' ') out.pop_back();
  return printable(out);
}

/// The bytes that belong to the profile; what follows them in the file is dropped.
std::vector<std::byte> checked_bytes(std::span<const std::byte> all, std::string_view name) {
  if (all.size() < kLeastBytes)
    refuse(name, "is " + std::to_string(all.size()) + " bytes long; an ICC profile has at least " +
                     std::to_string(kLeastBytes));
  constexpr std::uint32_t kSignature = 0x61637370;  // "acsp"
  if (big_endian(all, 36) != kSignature) refuse(name, "is not an ICC profile (no \"acsp\" at byte 36)");
  const std::size_t stated = big_endian(all, 0);
  if (stated > all.size())
    refuse(name,
           "is cut short: its header says " + std::to_string(stated) + " bytes, the file has " +
               std::to_string(all.size()),
           "copy the profile again from where it came");
  if (stated < kLeastBytes)
    refuse(name, "is damaged: its header says that it is " + std::to_string(stated) + " bytes long",
           "copy the profile again from where it came");
  return {all.begin(), all.begin() + static_cast<std::ptrdiff_t>(stated)};
}

struct Device {
  std::size_t channels = 0;
  cmsUInt32Number format = 0;
  float full = 1;  ///< of a float channel; lcms2 counts ink in percent
};

/// From the header's own bytes (ICC.1:2022, 7.2): lcms2's getters give enumerations, which a damaged header's
/// number may not be.
Device device_of(std::span<const std::byte> header, std::string_view name) {
  const std::uint32_t kind = big_endian(header, 12);
  if (kind != cmsSigDisplayClass && kind != cmsSigOutputClass && kind != cmsSigColorSpaceClass)
    refuse(name, "is a profile of class \"" + code_text(kind) +
                     "\"; allowed are display (mntr), output (prtr) and colour space (spac)");
  const std::uint32_t pcs = big_endian(header, 20), colours = big_endian(header, 16);
  if (pcs != cmsSigXYZData && pcs != cmsSigLabData)
    refuse(name, "connects through \"" + code_text(pcs) + "\"; allowed are XYZ and Lab");
  Device out;
  cmsUInt32Number space = 0;
  switch (colours) {
    case cmsSigGrayData:
      out.channels = 1, space = PT_GRAY;
      break;
    case cmsSigRgbData:
      out.channels = 3, space = PT_RGB;
      break;
    case cmsSigCmykData:
      out.channels = 4, space = PT_CMYK, out.full = 100;
      break;
    default:
      refuse(name, "is for colours of kind \"" + code_text(colours) + "\"; allowed are GRAY, RGB and CMYK");
  }
  out.format = FLOAT_SH(1) | COLORSPACE_SH(space) | CHANNELS_SH(static_cast<cmsUInt32Number>(out.channels)) |
               BYTES_SH(4);
  return out;
}

std::string description_of(cmsHPROFILE profile) {
  const cmsUInt32Number size = cmsGetProfileInfoASCII(profile, cmsInfoDescription, "en", "US", nullptr, 0);
  std::string text(size, '\0');
  if (size > 0) cmsGetProfileInfoASCII(profile, cmsInfoDescription, "en", "US", text.data(), size);
  return printable(std::string_view(text).substr(0, text.find('\0')));
}

std::vector<std::byte> srgb_profile() {
  const Profile profile(cmsCreate_sRGBProfile());
  cmsMLU* text = cmsMLUalloc(nullptr, 1);
  const bool written = text != nullptr && cmsMLUsetASCII(text, "en", "US", "sRGB (IEC 61966-2-1)") &&
                       cmsWriteTag(profile.get(), cmsSigProfileDescriptionTag, text);
  cmsMLUfree(text);
  KIRTLE_CHECK(written, ==, true);
  cmsUInt32Number size = 0;
  cmsSaveProfileToMem(profile.get(), nullptr, &size);
  std::vector<std::byte> bytes(size);
  KIRTLE_CHECK(cmsSaveProfileToMem(profile.get(), bytes.data(), &size), !=, 0);
  // The header holds the moment of making (6 big-endian numbers at byte 24). A fixed one, the year of the
  // standard, so that the same picture is the same file.
  constexpr std::array<std::uint8_t, 12> kMade = {0x07, 0xcf, 0, 1, 0, 1, 0, 0, 0, 0, 0, 0};
  for (std::size_t i = 0; i < kMade.size(); ++i) bytes[24 + i] = std::byte{kMade[i]};
  return bytes;
}

}  // namespace

void GamutReport::merge(const GamutReport& other) {
  colours += other.colours;
  outside += other.outside;
  if (other.largest_de00 > largest_de00) {
    largest_de00 = other.largest_de00;
    worst_asked = other.worst_asked;
    worst_given = other.worst_given;
  }
}

struct IccOutput::Impl {
  std::string lcms_error;  // before the context, which points at it
  Context context;
  std::vector<std::byte> bytes;
  Profile profile;  // reads from bytes
  Device device;
  std::string description;
  Matrix3 to_pcs{};  // to the scale of 1 that lcms2 uses
  Transform to_device;
  Transform to_lab;

  Impl(std::vector<std::byte> profile_bytes, std::string_view name, const IccSettings& settings);
  template <class Code>
  void convert(std::span<const float> xyz, std::span<Code> out, GamutReport* report) const;
  void count(std::span<const float> pcs, std::span<const float> given, std::span<const std::size_t> runs,
             GamutReport& report) const;
};

IccOutput::Impl::Impl(std::vector<std::byte> profile_bytes, std::string_view name,
                      const IccSettings& settings)
    : context(cmsCreateContext(nullptr, &lcms_error)), bytes(std::move(profile_bytes)) {
  KIRTLE_CHECK(context.get(), !=, nullptr);
  cmsSetLogErrorHandlerTHR(context.get(), keep_error);
  const auto damaged = [&](const char* when) {
    refuse(name, std::string("is damaged: ") + when + (lcms_error.empty() ? "" : " (" + lcms_error + ")"),
           "copy the profile again from where it came");
  };
  profile.reset(
      cmsOpenProfileFromMemTHR(context.get(), bytes.data(), static_cast<cmsUInt32Number>(bytes.size())));
  if (!profile) damaged("its table of tags cannot be read");
  device = device_of(bytes, name);
  description = description_of(profile.get());
  lcms_error.clear();  // a missing description is no reason to refuse
  to_pcs = bradford(settings.source_white, kPcsWhite);
  for (auto& row : to_pcs)
    for (double& value : row) value /= 100.0;

  const Profile xyz(cmsCreateXYZProfileTHR(context.get()));
  const Profile lab(cmsCreateLab4ProfileTHR(context.get(), nullptr));
  const cmsUInt32Number intent = lcms_intent(settings.intent);
  const cmsUInt32Number black = settings.black_point_compensation ? cmsFLAGS_BLACKPOINTCOMPENSATION : 0;
  to_device.reset(cmsCreateTransformTHR(context.get(), xyz.get(), kXyzFloat, profile.get(), device.format,
                                        intent, kExactFlags | black));
  if (!to_device) damaged("it has no usable way from colour to device values");
  const cmsUInt32Number back =
      settings.intent == Intent::absolute ? INTENT_ABSOLUTE_COLORIMETRIC : INTENT_RELATIVE_COLORIMETRIC;
  to_lab.reset(cmsCreateTransformTHR(context.get(), profile.get(), device.format, lab.get(), kLabFloat, back,
                                     kExactFlags));
  if (!to_lab) damaged("it has no usable way from device values to colour");
}

void IccOutput::Impl::count(std::span<const float> pcs, std::span<const float> given,
                            std::span<const std::size_t> runs, GamutReport& report) const {
  std::vector<float> shown(pcs.size());
  cmsDoTransform(to_lab.get(), given.data(), shown.data(), static_cast<cmsUInt32Number>(runs.size()));
  constexpr XYZ kWhite{kPcsWhite.x / 100, 1, kPcsWhite.z / 100};
  for (std::size_t i = 0; i < runs.size(); ++i) {
    const Lab asked = lab_from_xyz({pcs[3 * i], pcs[3 * i + 1], pcs[3 * i + 2]}, kWhite);
    const Lab got{shown[3 * i], shown[3 * i + 1], shown[3 * i + 2]};
    const double away = delta_e_2000(asked, got);
    report.colours += runs[i];
    if (away > kOutsideDe00) report.outside += runs[i];
    if (away > report.largest_de00) {
      report.largest_de00 = away;
      report.worst_asked = asked;
      report.worst_given = got;
    }
  }
}

template <class Code>
void IccOutput::Impl::convert(std::span<const float> xyz, std::span<Code> out, GamutReport* report) const {
  const std::size_t pixels = xyz.size() / 3;
  const std::size_t n = device.channels;
  KIRTLE_CHECK(xyz.size(), ==, 3 * pixels);
  KIRTLE_CHECK(out.size(), ==, n * pixels);
  // Most pixels of a print equal their left neighbour: one conversion a run.
  std::vector<float> pcs;
  std::vector<std::size_t> runs;
  pcs.reserve(xyz.size());
  runs.reserve(pixels);
  for (std::size_t p = 0; p < pixels; ++p) {
    const float* at = &xyz[3 * p];
    if (p > 0 && std::equal(at, at + 3, at - 3)) {
      ++runs.back();
      continue;
    }
    const XYZ v = to_pcs * XYZ{at[0], at[1], at[2]};
    KIRTLE_CHECK(std::abs(v.x) + std::abs(v.y) + std::abs(v.z), <=, 1e30);
    for (const double value : {v.x, v.y, v.z}) pcs.push_back(static_cast<float>(value));
    runs.push_back(1);
  }
  std::vector<float> given(n * runs.size());
  cmsDoTransform(to_device.get(), pcs.data(), given.data(), static_cast<cmsUInt32Number>(runs.size()));
  for (float& value : given) value = std::clamp(value, 0.0F, device.full);
  if (report != nullptr) count(pcs, given, runs, *report);

  const float scale = static_cast<float>(std::numeric_limits<Code>::max()) / device.full;
  auto to = out.begin();
  for (std::size_t i = 0; i < runs.size(); ++i)
    for (std::size_t k = 0; k < runs[i]; ++k)
      for (std::size_t c = 0; c < n; ++c) *to++ = static_cast<Code>(given[n * i + c] * scale + 0.5F);
}

IccOutput::IccOutput(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
IccOutput::IccOutput(IccOutput&&) noexcept = default;
IccOutput& IccOutput::operator=(IccOutput&&) noexcept = default;
IccOutput::~IccOutput() = default;

IccOutput IccOutput::from_bytes(std::span<const std::byte> profile, std::string_view name,
                                const IccSettings& settings) {
  return IccOutput(std::make_unique<Impl>(checked_bytes(profile, name), name, settings));
}

IccOutput IccOutput::from_file(const std::filesystem::path& file, const IccSettings& settings) {
  const std::string name = file.string();
  std::error_code error;
  if (!std::filesystem::exists(file, error)) refuse(name, "no such ICC profile", "check the path");
  if (!std::filesystem::is_regular_file(file, error))
    refuse(name, "is not a file", "give an ICC profile file");
  const std::uintmax_t size = std::filesystem::file_size(file, error);
  if (error) refuse(name, "cannot be read: " + error.message(), "check the file's permissions");
  if (size > kMostBytes)
    refuse(name, "is " + std::to_string(size) + " bytes long; an ICC profile may have " +
                     std::to_string(kMostBytes));
  std::vector<std::byte> bytes(static_cast<std::size_t>(size));
  std::ifstream in(file, std::ios::binary);
  in.read(reinterpret_cast<char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
  if (!in) refuse(name, "cannot be read", "check the file's permissions");
  return from_bytes(bytes, name, settings);
}

IccOutput IccOutput::srgb(const IccSettings& settings) {
  return from_bytes(srgb_profile(), "built-in sRGB", settings);
}

std::size_t IccOutput::channels() const { return impl_->device.channels; }
std::span<const std::byte> IccOutput::profile_bytes() const { return impl_->bytes; }
const std::string& IccOutput::description() const { return impl_->description; }

void IccOutput::convert8(std::span<const float> xyz, std::span<std::uint8_t> device,
                         GamutReport* report) const {
  impl_->convert(xyz, device, report);
}

void IccOutput::convert16(std::span<const float> xyz, std::span<std::uint16_t> device,
                          GamutReport* report) const {
  impl_->convert(xyz, device, report);
}

}  // namespace kirtle
