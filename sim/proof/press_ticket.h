#pragma once
// The ticket that goes to the press with a job: what hangs on which head, where to look first, what to write
// in.
#include "proof/customer_proof.h"

namespace kirtle {

/// One print of an order as the press gets it: with one set of screens, or a set of its own.
struct TicketPrint {
  PrintStudy study;
  std::vector<SizeCount> sizes;  ///< printed with this set; empty = no order
  std::string set;               ///< "set 1 of 2", or empty
};

/// A page a print, more if a press has many heads. Lying paper.
PageDocument press_ticket(const Order& order, const std::vector<TicketPrint>& prints,
                          const std::string& checksum, const ProofSettings& settings = {});

}  // namespace kirtle
