#pragma once
// What an HTML page is put together from: text that stays text, pictures inside the file, digests for its
// security policy.
#include "proof/page.h"

#include <string>
#include <string_view>

namespace kirtle {

/// Text out of a file as HTML, in content or in a quoted attribute: clean_text, then & < > " ' as
/// references. No text reaches a page by another way.
std::string html_text(std::string_view text);

/// Baseline JPEG (ITU-T T.81, JFIF), colours not halved, sRGB as CSS Color 4 takes untagged pictures.
/// picture: opaque (alpha is ignored); quality 1..100. The same picture gives the same bytes with the same
/// library. Throws std::runtime_error if the library fails.
std::string jpeg_bytes(const PagePicture& picture, int quality);

/// Base 64 (RFC 4648, section 4).
std::string base64(std::string_view bytes);
/// A source that browsers check an inline script or style by: 'sha256-...'. Source: W3C Content Security
/// Policy Level 3, 2.3.1.
std::string csp_digest(std::string_view inline_text);

}  // namespace kirtle
