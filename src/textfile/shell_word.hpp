// Words of commands that are said to be copied into a shell.
#pragma once

#include <string>

namespace frostcal::textfile {

/// In single quotes, as a shell reads them.
std::string single_quoted(const std::string& text);

/// As it is, or in single quotes where a shell would part it or read something into it.
std::string shell_word(const std::string& word);

}  // namespace frostcal::textfile
