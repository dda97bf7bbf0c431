// Letters and digits of ASCII, whatever the locale; other bytes, such as those of accents in UTF-8, stay as
// they are.
#pragma once

#include <string>
#include <string_view>

namespace frostcal::errors {

char to_lower(char c);
char to_upper(char c);
std::string to_lower(std::string_view text);
std::string to_upper(std::string_view text);
bool is_letter(char c);
bool is_digit(char c);
bool is_letter_or_digit(char c);
/// Without blanks, tabs and line ends at either end.
std::string_view trimmed(std::string_view text);

}  // namespace frostcal::errors
