// Breaking text into lines.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace frostcal::textfile {

/// The widest line that is meant to be read on a terminal.
constexpr std::size_t kWidest = 100;

/// Breaks each line at blanks so that it has at most `width` characters; what goes on is indented by
/// `indent`, and the line's first `indent` characters are never broken either (a label, a bullet). What a
/// reader wants to search for or copy stays whole, even if it is longer than the line:
///  - what is between double quotes;
///  - a command, which begins with the word frostcal behind two blanks and ends at the next two blanks or
///    with the line;
///  - the place that a message begins with ("/our shop/a.csv:2:4:").
std::string wrapped(std::string_view text, std::size_t width, std::size_t indent);

}  // namespace frostcal::textfile
