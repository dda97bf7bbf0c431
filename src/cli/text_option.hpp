// Options whose text is kept in a file: names, notes and reasons.
#pragma once

#include <string>

#include "cli/command.hpp"

namespace frostcal::cli {

/// The text on one line, without blanks at either end; `what` says where it was typed. Throws UsageError when
/// it can't be kept.
std::string kept_text(const std::string& text, const std::string& what, std::size_t longest);

/// --note, --reason and the like; empty when it is not given.
std::string read_note(const Arguments& arguments, const std::string& option);

/// --by, which must be given and not be blank.
std::string read_by(const Arguments& arguments);

}  // namespace frostcal::cli
