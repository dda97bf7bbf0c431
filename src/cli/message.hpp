// Messages to a person on standard error, in lines that fit the terminal.
#pragma once

#include <string>
#include <string_view>

#include "cli/command.hpp"

namespace frostcal::cli {

/// Breaks each line at blanks so that it has at most `width` characters; what goes on is indented by four.
/// Never inside double quotes and never inside the place that a message begins with ("/our shop/a.csv:2:4:"),
/// so that both can be searched for and copied; one of them that is longer than the line stays whole.
std::string message_lines(std::string_view text, std::size_t width);

/// In single quotes, as a shell reads them.
std::string single_quoted(const std::string& text);

/// A word of a command to be copied into a shell: as it is, or in single quotes where a shell would part it
/// or read something into it.
std::string shell_word(const std::string& word);

/// Writes the message, which ends in a line end, to streams.err: as wide as its terminal, at most 100
/// characters, and 100 where it is none.
void tell(const Streams& streams, std::string_view message);

/// Writes messages that are a command's result to streams.out: broken as above on a terminal, each line whole
/// elsewhere, so that they can be searched.
void show(const Streams& streams, std::string_view messages);

}  // namespace frostcal::cli
