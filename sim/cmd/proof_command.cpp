// kirtle proof: what the customer signs.
#include "cmd/commands.h"
#include "cmd/proof_options.h"
#include "proof/customer_proof.h"

#include <fmt/format.h>
#include <memory>

namespace kirtle {

namespace {

struct Arguments {
  ProofArguments job;
  bool share = false;
};

void run(const Arguments& a) {
  const ProofJob job = a.job.read();
  StudySettings settings = a.job.study_settings();
  settings.share = a.share;
  Diagnostics notes;
  const std::vector<PrintStudy> studies = study_prints(job.order, settings, notes);
  stop_for_youth_discharge(job.order, studies);
  print_notes(notes.all(), a.job.quiet);
  a.job.refuse_own_files(job.order, studies);
  const PageDocument document =
      customer_proof(job.order, studies, checksum_of(job.order, studies), {job.paper});
  a.job.write(document);
  if (a.job.quiet) return;
  for (const PrintStudy& study : studies)
    for (const std::string& question : questions(job.order, study))
      fmt::print("  asks ({}): {}\n", to_string(study.print.location), question);
}

}  // namespace

void add_proof_command(CLI::App& app) {
  auto a = std::make_shared<Arguments>();
  CLI::App* c = app.add_subcommand("proof", "The pages that a customer signs, as PDF");
  a->job.add_to(*c);
  c->add_flag("--share", a->share,
              "Say on how many shirts register will show; customers are told only on request");
  c->footer(
      "Examples:\n"
      "  kirtle proof scenes/moth/scene.toml -o proof.pdf\n"
      "  kirtle proof order.toml -o proof.pdf --png proof --paper letter\n"
      "docs/formats.md tells what an order file holds.");
  c->callback([a] { run(*a); });
}

}  // namespace kirtle
