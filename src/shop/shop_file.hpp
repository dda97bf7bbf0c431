// grids/shop.toml: read, checked, never rewritten.
#pragma once

#include <filesystem>
#include <string>

#include "shop/shop.hpp"

namespace frostcal::shop {

/// grids/shop.toml under the shop folder.
std::filesystem::path shop_file(const std::filesystem::path& folder);

/// Reads the shop. Throws UserError with every fault (line, column, field, found, expected, remedy), or
/// SystemError when the file cannot be read.
Shop read_shop(const std::filesystem::path& folder);

/// The same from text; `name` is the file's name for messages.
Shop parse_shop(const std::string& text, const std::string& name);

/// The commented shop.toml that `start` writes.
std::string shop_template();
/// The .gitignore that `start` writes: the lock, and what a killed run leaves. Not the sheets, which check
/// wants.
std::string gitignore_template();

}  // namespace frostcal::shop
