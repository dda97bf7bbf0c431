#include "cli/message.hpp"

#include <unistd.h>

#include <algorithm>
#include <iostream>

#include "cli/terminal.hpp"
#include "errors/user_error.hpp"
#include "textfile/open_file.hpp"
#include "textfile/wrapped_text.hpp"

namespace frostcal::cli {

namespace {

constexpr std::size_t kNarrowest = 40;
constexpr std::size_t kIndent = 4;

std::size_t width_of(int terminal) {
  return std::clamp(static_cast<std::size_t>(columns_of(terminal)), kNarrowest, textfile::kWidest);
}

}  // namespace

void tell(const Streams& streams, std::string_view message) {
  const bool terminal = &streams.err == &std::cerr && ::isatty(STDERR_FILENO) == 1;
  streams.err << textfile::wrapped(message, terminal ? width_of(STDERR_FILENO) : textfile::kWidest, kIndent);
}

void show(const Streams& streams, std::string_view messages) {
  const bool terminal = &streams.out == &std::cout && ::isatty(STDOUT_FILENO) == 1;
  if (terminal) {
    streams.out << textfile::wrapped(messages, width_of(STDOUT_FILENO), kIndent);
  } else {
    streams.out << messages;
  }
}

void tell_dropped(const Streams& streams, const textfile::AppendedFile& file,
                  const textfile::TailRepair& repair) {
  if (repair.dropped.empty()) return;
  tell(streams, textfile::shown(file.path) + ": the last row was cut while it was written and is dropped: " +
                    errors::quoted(repair.dropped) + '\n');
}

}  // namespace frostcal::cli
