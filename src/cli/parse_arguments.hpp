// One strict parse of a command's words, by the command's own rows.
#pragma once

#include <string>
#include <vector>

#include "cli/command.hpp"

namespace frostcal::cli {

/// Sorts the words (without the command's name). No guessing of shortened options, no value that is itself a
/// known option. Throws UsageError. `help` is set when --help was given; nothing else is checked then.
Arguments parse_arguments(const Command& command, const std::vector<std::string>& words, bool& help);

/// The text of `frostcal COMMAND --help`, wrapped at 79 columns.
std::string help_text(const Command& command);

/// Options that every command understands.
const std::vector<OptionText>& common_options();

/// Breaks text into lines of at most `width` characters; continuation lines start with `indent` blanks.
std::string wrapped(const std::string& text, std::size_t width, std::size_t indent);

}  // namespace frostcal::cli
