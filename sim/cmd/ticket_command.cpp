// kirtle ticket: what the press crew gets.
#include "cmd/commands.h"
#include "cmd/proof_options.h"
#include "proof/press_ticket.h"

#include <algorithm>
#include <memory>

namespace kirtle {

namespace {

/// A print with one set of screens, or with the two that the order asks for.
std::vector<TicketPrint> sets_of(const Order& order, PrintStudy study, const StudySettings& settings,
                                 Diagnostics& notes) {
  if (order.sets == ScreenSets::one || study.fit.offered.empty())
    return {{std::move(study), order.by_size(), {}}};
  std::vector<TicketPrint> out;
  for (std::size_t i = 0; i < study.fit.offered.size(); ++i) {
    const ScreenSet& set = study.fit.offered[i];
    TicketPrint print;
    StudySettings own = settings;
    own.width_mm = set.width_in * kMmPerInch;
    print.study = study_print(order, study.print, own, notes);
    print.set = "set " + std::to_string(i + 1) + " of 2";
    for (const SizeCount& c : order.by_size())
      if (std::find(set.sizes.begin(), set.sizes.end(), c.size) != set.sizes.end()) print.sizes.push_back(c);
    out.push_back(std::move(print));
  }
  return out;
}

void run_ticket(const ProofArguments& a) {
  const ProofJob job = a.read();
  a.spare_own_files(job, 0);
  StudySettings settings = a.study_settings();
  settings.pictures = false;
  settings.watch = true;
  Diagnostics notes;
  const std::vector<PrintStudy> studies = study_prints(job.order, settings, notes);
  stop_for_youth_discharge(job.order, studies);
  std::vector<TicketPrint> prints;
  for (const PrintStudy& study : studies)
    for (TicketPrint& print : sets_of(job.order, study, settings, notes)) prints.push_back(std::move(print));
  print_notes(notes.all(), a.quiet);
  const PageDocument document = press_ticket(job.order, prints, checksum_of(job.order, studies), {job.paper});
  a.spare_own_files(job, document.pages.size());
  a.write(document);
}

}  // namespace

void add_ticket_command(CLI::App& app) {
  auto a = std::make_shared<ProofArguments>();
  CLI::App* c =
      app.add_subcommand("ticket", "What the press crew gets: heads, inks, where to look first, as PDF");
  a->add_to(*c);
  c->footer(
      "Examples:\n"
      "  kirtle ticket scenes/reef/scene.toml -o ticket.pdf\n"
      "  kirtle ticket order.toml -o ticket.pdf --paper letter");
  c->callback([a] { run_ticket(*a); });
}

}  // namespace kirtle
