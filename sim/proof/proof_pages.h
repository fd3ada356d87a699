#pragma once
// The customer proof while it is laid out: pages of prints (customer_proof.cpp), then the approval
// (proof_approval.cpp).
#include "proof/garment_panel.h"
#include "proof/print_study.h"
#include "proof/proof_flow.h"
#include "proof/proof_words.h"

#include <string>
#include <vector>

namespace kirtle {

class ProofPages {
 public:
  /// order and studies must outlive this. checksum: 64 hex digits.
  ProofPages(const Order& order, const std::vector<PrintStudy>& studies, const std::string& checksum,
             const PaperSize& paper);
  std::vector<Page> make();

 private:
  void heading();
  void print(const PrintStudy& study);
  void garments(const PrintStudy& study);
  void other_shirts(const PrintStudy& study);
  void close_up_and_inks(const PrintStudy& study);
  void words(const PrintStudy& study);

  void approval();
  void at_a_glance();
  void shirts_table();
  void sign(const PageBox& box);

  const Order& order_;
  const std::vector<PrintStudy>& studies_;
  std::string checksum_;  ///< short
  PageFlow flow_;
};

}  // namespace kirtle
