// Whether text is well-formed UTF-8, and how many characters it has.
#pragma once

#include <cstddef>
#include <optional>
#include <string_view>

namespace frostcal::textfile {

/// Byte offset of the first ill-formed sequence (overlong forms, surrogates and values above U+10FFFF
/// included), or nothing. Source: The Unicode Standard, table 3-7, "Well-Formed UTF-8 Byte Sequences"
/// (from memory).
std::optional<std::size_t> first_invalid_utf8(std::string_view text);

/// Characters (code points) of well-formed text; of other text, bytes that do not continue a character.
std::size_t character_count(std::string_view text);

}  // namespace frostcal::textfile
