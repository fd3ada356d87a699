#pragma once
// Options that the commands which write pages of an order have.
#include "cmd/scene_options.h"
#include "proof/page_parts.h"
#include "proof/print_study.h"

namespace kirtle {

struct ProofJob {
  Order order;
  PaperSize paper;
  std::vector<std::filesystem::path> own;  ///< files that the pages are made from
};

struct ProofArguments {
  std::string order, output, paper = "a4";
  std::optional<std::string> light, png;
  std::vector<std::string> data;
  double dpi = 120;
  unsigned threads = 0;
  bool quiet = false;

  void add_to(CLI::App& command);
  ProofJob read() const;
  StudySettings study_settings() const;
  /// Everything that write() makes from so many pages, and `more`, must not take the place of what they are
  /// made from. Called with no pages before the work starts, and again when it is known how many there are.
  /// Throws InputError.
  void spare_own_files(const ProofJob& job, std::size_t pages,
                       const std::vector<std::string>& more = {}) const;
  /// The PDF, and PNG pages if asked for; says what was written unless quiet.
  void write(const PageDocument& document) const;

 private:
  std::string png_page(std::size_t i) const;  ///< name of a page's picture, from 0
};

}  // namespace kirtle
