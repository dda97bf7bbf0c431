// The man pages and shell completions, made from the same rows as parsing and --help.
#pragma once

#include <string>

#include "cli/command.hpp"

namespace frostcal::cli {

/// "frostcal-table-adopt" for `table adopt`.
std::string manual_name(const Command& command);

/// The page of one command, section 1, in the man(7) macros. `date` is shown as given (2026-11-25).
std::string manual_page(const Command& command, const std::string& version, const std::string& date);

/// The page `frostcal`: every command with its summary, files, exit status.
std::string overview_page(const std::string& version, const std::string& date);

/// For bash-completion: complete -F. Completes commands, options, names of shop.toml, grids, files.
std::string bash_completion();

/// For zsh: a #compdef function with the text of every option.
std::string zsh_completion();

}  // namespace frostcal::cli
