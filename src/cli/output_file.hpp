// A file that a command writes where the user says.
#pragma once

#include <string>
#include <string_view>

namespace frostcal::cli {

/// What a command is about to write, and how an older file of that kind begins.
struct OutputKind {
  std::string name;                                    // "a PDF"
  bool (*is_beginning)(std::string_view first_bytes);  // at most 4096 of them
};

/// Throws UserError when FILE, links followed, lies in grids/ or results/ of a shop or is its lock: what is
/// there is read as the shop's own. Any shop counts, not only the one at hand.
void refuse_shop_file(const std::string& file);

/// Replaces FILE as textfile::durable_write_anywhere does, Ctrl-C waiting. Throws UserError as above, and
/// when FILE is there, holds something and is not of this kind.
void write_output(const std::string& file, const OutputKind& kind, std::string_view bytes);

}  // namespace frostcal::cli
