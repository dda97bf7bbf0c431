// Numbers to and from text, never through a locale.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace frostcal::textfile {

/// A number, or the reason why the text is none. `remedy` is a phrase for a Fault: "write 12.5".
struct NumberReading {
  std::optional<double> value;
  std::string remedy;
};

/// All of the text must be one finite number: digits with an optional sign, decimal point or decimal comma
/// ("12,5"), and exponent. Blanks round it are ignored. Refused, with a remedy: thousands separators
/// ("1.234,5", "1,234.5", "1 234"), units ("12mm"), "inf", "nan", hexadecimal, numbers beyond double.
/// std::from_chars alone would stop quietly at the first odd character.
NumberReading read_number(std::string_view text);

/// The same without the reason.
std::optional<double> parse_number(std::string_view text);

/// A whole number up to 1e15 either way; "4.0" and "4,0" are 4, as spreadsheets write them.
std::optional<long long> parse_integer(std::string_view text);

/// Fixed notation with that many decimals; "-0.00" is written "0.00". Never with exactly three decimals,
/// which a spreadsheet in another locale reads as thousands (decimals = 3 or a value that is not finite:
/// Bug).
std::string format_fixed(double value, int decimals);

/// For messages and TOML: as few decimals as tell the value to within 0.00005, but never exactly three.
std::string format_number(double value);

}  // namespace frostcal::textfile
