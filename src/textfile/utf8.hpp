// Whether text is well-formed UTF-8, how many characters it has, and UTF-8 from UTF-16.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

namespace frostcal::textfile {

/// One code point and the bytes that it takes.
struct Character {
  char32_t code = 0;
  std::size_t bytes = 0;
};
/// The first character of a text that is not empty; nothing when it does not begin with a well-formed one.
std::optional<Character> first_character(std::string_view text);

/// Byte offset of the first ill-formed sequence (overlong forms, surrogates and values above U+10FFFF
/// included), or nothing. Source: The Unicode Standard, table 3-7, "Well-Formed UTF-8 Byte Sequences"
/// (from memory).
std::optional<std::size_t> first_invalid_utf8(std::string_view text);

/// Characters (code points) of well-formed text; of other text, bytes that do not continue a character.
std::size_t character_count(std::string_view text);

/// The bytes start with a byte-order mark of UTF-16.
bool has_utf16_mark(std::string_view bytes);

/// The text as UTF-8 when the bytes start with a byte-order mark of UTF-16 and are well-formed (pairs of
/// surrogates, whole units); nothing otherwise.
std::optional<std::string> utf8_from_utf16(std::string_view bytes);

}  // namespace frostcal::textfile
