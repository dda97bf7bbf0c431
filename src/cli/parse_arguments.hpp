// One strict parse of a command's words, by the command's own rows.
#pragma once

#include <string>
#include <vector>

#include "cli/command.hpp"

namespace frostcal::cli {

/// Sorts the words (without the command's name). No guessing of shortened options, no value that is itself a
/// known option. Throws UsageError. `help` is set when --help was given; nothing else is checked then.
Arguments parse_arguments(const Command& command, const std::vector<std::string>& words, bool& help);

constexpr std::size_t kHelpWidth = 79;

/// The paragraphs of a manual, which empty lines part.
std::vector<std::string> paragraphs(const std::string& manual);

/// The text of `frostcal COMMAND --help`, in lines of at most 79 characters.
std::string help_text(const Command& command);

/// Options that every command understands.
const std::vector<OptionText>& common_options();

/// Its own, then the common ones.
std::vector<OptionText> all_options(const Command& command);

}  // namespace frostcal::cli
