// What a person may write into a cell: names, notes and reasons.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "errors/user_error.hpp"

namespace frostcal::textfile {

/// In characters. Bounds keep a row far below what readers take for one line.
inline constexpr std::size_t kLongestName = 100;
inline constexpr std::size_t kLongestNote = 1000;

/// Line breaks and tabs as blanks: a row of ours is one line.
std::string on_one_line(std::string_view text);

/// Why the text, on one line, can't be kept: it is not UTF-8, has a control character, or more than `longest`
/// characters. A fault without a place, or nothing.
std::optional<errors::Fault> free_text_fault(std::string_view text, std::size_t longest);

}  // namespace frostcal::textfile
