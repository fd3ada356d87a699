#pragma once
// The proof that a customer signs: every print of an order on drawn shirts to scale, inks as they print, what
// to expect, one signature.
#include "proof/page_parts.h"
#include "proof/print_study.h"

namespace kirtle {

struct ProofSettings {
  PaperSize paper = kA4;
};
/// Smallest and largest paper that the pages are laid out for.
constexpr PaperSize kLeastPaper{190, 250}, kMostPaper{600, 900};

/// checksum: of checksum_of.
PageDocument customer_proof(const Order& order, const std::vector<PrintStudy>& studies,
                            const std::string& checksum, const ProofSettings& settings = {});

}  // namespace kirtle
