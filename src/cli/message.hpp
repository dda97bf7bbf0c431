// Messages to a person on standard error, in lines that fit the terminal.
#pragma once

#include <string_view>

#include "cli/command.hpp"
#include "textfile/append_row.hpp"

namespace frostcal::cli {

/// Writes the message, which ends in a line end, to streams.err, broken by `textfile::wrapped`: as wide as
/// its terminal, at most 100 characters, and 100 where it is none.
void tell(const Streams& streams, std::string_view message);

/// Writes messages that are a command's result to streams.out: broken likewise on a terminal, each line whole
/// elsewhere, so that they can be searched.
void show(const Streams& streams, std::string_view messages);

/// Says which row, if any, was cut while it was written and is dropped now that others follow.
void tell_dropped(const Streams& streams, const textfile::AppendedFile& file,
                  const textfile::TailRepair& repair);

}  // namespace frostcal::cli
