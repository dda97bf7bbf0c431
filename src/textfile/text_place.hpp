// From a byte offset to the line and column that an editor shows.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

#include "errors/source_place.hpp"
#include "errors/user_error.hpp"

namespace frostcal::textfile {

/// Lines end with LF, CRLF or CR alone; columns count characters. Both from 1.
errors::SourcePlace place_of(std::string_view text, std::size_t offset, const std::string& name);

/// Throws UserError when the text has NUL bytes or is not UTF-8 (UTF-16 and Latin-1 get their own words), or
/// when a line is longer than `max_line_bytes`.
void check_plain_text(std::string_view text, const std::string& name, std::size_t max_line_bytes);

/// The first line that version control leaves where it could not merge two copies of a file: seven <, |, =
/// or > at its start. For a file that can't be read; in one that can, such a line is somebody's text.
std::optional<errors::Fault> unfinished_merge(std::string_view text, const std::string& name);

}  // namespace frostcal::textfile
