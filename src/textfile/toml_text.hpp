// Text that is safe to hand to the TOML parser.
#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>

#include "textfile/file_system.hpp"

namespace frostcal::textfile {

/// A dotted key of some 30,000 segments on one line overflows the stack of toml++ 3.3 (toml++ issue 292);
/// a dotted key cannot span lines, so a bound on the line is enough.
inline constexpr std::uint64_t kMaxTomlBytes = 1024U * 1024U;
inline constexpr std::size_t kMaxTomlLineBytes = 4096;

/// Throws UserError when the text is too large, has too long a line, NUL bytes, or is not UTF-8.
void check_toml_text(std::string_view text, const std::string& name);

/// Reads a regular file inside `root` and checks it. Throws like read_file and check_toml_text.
std::string read_toml_text(const std::filesystem::path& root, const std::filesystem::path& path,
                           FileSystem& files = real_file_system());

}  // namespace frostcal::textfile
