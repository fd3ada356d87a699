#pragma once
// The command line's subcommands. Thin: they read options, call the library, print. Only this folder prints
// or exits.
#include <CLI/CLI.hpp>

namespace kirtle {

/// Each adds its subcommand, with help by example, to `app`; the work runs when the line has been read.
void add_predict_command(CLI::App& app);
void add_probe_command(CLI::App& app);
void add_run_command(CLI::App& app);
void add_list_commands(CLI::App& app);
void add_plates_command(CLI::App& app);
void add_check_command(CLI::App& app);
void add_screens_command(CLI::App& app);
/// compare and reshape.
void add_compare_command(CLI::App& app);
void add_range_command(CLI::App& app);
void add_scene_command(CLI::App& app);
void add_proof_command(CLI::App& app);
void add_ticket_command(CLI::App& app);

}  // namespace kirtle
