#pragma once
// Corrected plates to files that read back as the same plates.
#include "plate/plate_image.h"

#include <filesystem>
#include <span>
#include <string>

namespace kirtle {

/// One plate as a grey PNG or TIFF (by its ending), a film positive: black prints (Polarity::dark_is_ink).
/// Its bits and resolution are kept (ppi > 0). `note`: free text stored with it, such as the curve's state.
/// Throws as PictureWriter does.
void write_grey_plate(const std::filesystem::path& target, const PlateImage& plate, double ppi,
                      const std::string& note = {}, unsigned threads = 0);

/// All plates in one Separated TIFF with named inks (ISO 12639; TIFF 6.0 section 16), 0 = no ink. Plates have
/// one size (else InternalError); if one is 16 bit all are written so. At most 32 plates, names as they are.
/// Throws InputError if two plates have one name or a name is empty; std::runtime_error if it cannot be
/// written.
void write_separated_tiff(const std::filesystem::path& target, std::span<const PlateImage> plates, double ppi,
                          const std::string& note = {}, unsigned threads = 0);

}  // namespace kirtle
