// kirtle: the command line. Exit status 0 done, 2 the user's input is wrong, 130 stopped by
// Ctrl-C (what was done is kept), 3 a check whose plates would be sent back, 1 anything else.
#include "base/diagnostics.h"
#include "base/progress.h"
#include "cmd/commands.h"
#include "proof/library_failure.h"

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <exception>
#include <fmt/format.h>
#include <new>
#include <string>
#include <vector>

namespace {

/// A word that is no command gets the nearest one.
void check_command(const CLI::App& app, const std::string& word) {
  if (word.starts_with('-')) return;
  std::vector<std::string> names;
  for (const CLI::App* command : app.get_subcommands({})) names.push_back(command->get_name());
  if (std::find(names.begin(), names.end(), word) != names.end()) return;
  const std::string near = kirtle::nearest_name(word, names);
  throw kirtle::InputError({}, fmt::format("there is no command \"{}\"", kirtle::printable(word)),
                           near.empty() ? fmt::format("use one of {}", fmt::join(names, ", "))
                                        : fmt::format("did you mean \"{}\"?", near));
}

int run(int argc, char** argv) {
  CLI::App app{"Kirtle predicts what screen-print plates will look like on a dyed shirt.", "kirtle"};
  app.set_version_flag("--version", "kirtle " KIRTLE_VERSION);
  app.require_subcommand(1);
  app.footer(
      "Start here:\n"
      "  kirtle predict scenes/moth/scene.toml -o print.png   draw the printed shirt\n"
      "  kirtle probe scenes/moth/scene.toml --at 150,120     the numbers at a point\n"
      "  kirtle check scenes/reef/scene.toml                  what would send its plates back\n"
      "  kirtle screens scenes/reef/scene.toml                what its screens hold and print\n"
      "  kirtle compare scenes/moth/scene.toml                solid underlay or trapped halftones\n"
      "  kirtle range scenes/moth/scene.toml                  on which shirts it works, and how\n"
      "  kirtle plates art/*.png                              what is in exported files\n"
      "  kirtle scene new team art/*.png                      a scene from them\n"
      "  kirtle inks                                          inks to print with\n"
      "  kirtle COMMAND --help                                options and examples");
  kirtle::add_predict_command(app);
  kirtle::add_probe_command(app);
  kirtle::add_run_command(app);
  kirtle::add_check_command(app);
  kirtle::add_screens_command(app);
  kirtle::add_compare_command(app);
  kirtle::add_range_command(app);
  kirtle::add_list_commands(app);
  kirtle::add_plates_command(app);
  kirtle::add_scene_command(app);
  kirtle::add_proof_command(app);
  kirtle::add_ticket_command(app);
  app.failure_message([](const CLI::App* at, const CLI::Error& e) {
    const std::vector<CLI::App*> chosen = at->get_subcommands();
    return fmt::format("error: {}\n  fix: see kirtle {}--help\n", e.what(),
                       chosen.empty() ? "" : chosen.front()->get_name() + " ");
  });
  if (argc > 1) check_command(app, argv[1]);
  try {
    app.parse(argc, argv);
  } catch (const CLI::RuntimeError& e) {
    return e.get_exit_code();  // of a command that ran, such as check
  } catch (const CLI::ParseError& e) {
    return app.exit(e) == 0 ? 0 : 2;
  }
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  kirtle::on_library_failure([](const char* words) {
    std::fprintf(stderr, "error: out of memory or threads (%s)\n", words);
    std::_Exit(1);
  });
  try {
    const int status = run(argc, argv);
    if (std::fflush(stdout) != 0) return 1;
    return status;
  } catch (const kirtle::InputError& e) {
    fmt::print(stderr, "{}\n", e.what());
    return 2;
  } catch (const kirtle::Cancelled&) {
    return 130;  // as shells have it for the signal
  } catch (const std::bad_alloc&) {
    fmt::print(stderr, "error: out of memory; files are whole or not written at all\n");
  } catch (const std::exception& e) {
    fmt::print(stderr, "error: {}\n", kirtle::printable_lines(e.what()));
  }
  return 1;
}
