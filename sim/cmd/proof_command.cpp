// kirtle proof: what the customer signs.
#include "cmd/commands.h"
#include "cmd/proof_options.h"
#include "cmd/say.h"
#include "proof/customer_proof.h"
#include "proof/proof_html.h"

#include <fmt/format.h>
#include <memory>

namespace kirtle {

namespace {

struct CustomerProofArguments {
  ProofArguments job;
  std::optional<std::string> html;
  bool share = false;
};

std::vector<PrintViews> views_of(const Order& order, const std::vector<PrintStudy>& studies,
                                 const StudySettings& settings, bool quiet, Diagnostics& notes) {
  const Progress show = terminal_progress("pictures", quiet);
  std::vector<PrintViews> out;
  for (const PrintStudy& study : studies) {
    const double before = static_cast<double>(out.size()), all = static_cast<double>(studies.size());
    Progress part;
    if (show) part = [&](double share) { return show((before + share) / all); };
    out.push_back(print_views(order, study, studies.size(), settings, notes, part));
  }
  return out;
}

void run_proof(const CustomerProofArguments& a) {
  const ProofJob job = a.job.read();
  if (a.html) check_ending(*a.html, {".html", ".htm"});
  const std::vector<std::string> more = a.html ? std::vector{*a.html} : std::vector<std::string>{};
  a.job.spare_own_files(job, 0, more);
  StudySettings settings = a.job.study_settings();
  settings.share = a.share;
  Diagnostics notes;
  const std::vector<PrintStudy> studies = study_prints(job.order, settings, notes);
  stop_for_youth_discharge(job.order, studies);
  const std::string checksum = checksum_of(job.order, studies);
  const PageDocument document = customer_proof(job.order, studies, checksum, {job.paper});
  a.job.spare_own_files(job, document.pages.size());
  std::string html;
  if (a.html)
    html =
        proof_html(job.order, studies, views_of(job.order, studies, settings, a.job.quiet, notes), checksum);
  print_notes(notes.all(), a.job.quiet);
  a.job.write(document);
  if (a.html) {
    write_html(html, *a.html);
    if (!a.job.quiet) say("{}: {:.1f} MB\n", *a.html, static_cast<double>(html.size()) / 1e6);
  }
  if (a.job.quiet) return;
  for (const PrintStudy& study : studies)
    for (const std::string& question : questions(job.order, study))
      say("  asks ({}): {}\n", to_string(study.print.location), question);
}

}  // namespace

void add_proof_command(CLI::App& app) {
  auto a = std::make_shared<CustomerProofArguments>();
  CLI::App* c = app.add_subcommand("proof", "The pages that a customer signs, as PDF and HTML");
  a->job.add_to(*c);
  c->add_option("--html", a->html,
                "Also one HTML file for e-mail and phones, with shirt and light to switch: .html");
  c->add_flag("--share", a->share,
              "Say on how many shirts register will show; customers are told only on request");
  c->footer(
      "Examples:\n"
      "  kirtle proof scenes/moth/scene.toml -o proof.pdf\n"
      "  kirtle proof order.toml -o proof.pdf --png proof --paper letter\n"
      "  kirtle proof order.toml -o proof.pdf --html proof.html\n"
      "docs/formats.md tells what an order file holds.");
  c->callback([a] { run_proof(*a); });
}

}  // namespace kirtle
