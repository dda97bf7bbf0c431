// Turns of phrase that many messages share.
#pragma once

#include <string>
#include <vector>

namespace frostcal::textfile {

/// "a, b, c"; empty for no words.
std::string joined(const std::vector<std::string>& words, const std::string& between = ", ");

/// "a, b and c".
std::string listed(const std::vector<std::string>& words);

/// "1 swatch", "12 swatches".
std::string counted(long count, const std::string& one, const std::string& many);

/// One entry of a summary on the terminal: the label, indented by two, in a column of 16; the text goes on
/// below itself, as `wrapped` breaks it.
std::string labelled_line(const std::string& label, const std::string& text);

/// An entry of a table in a column so wide, with a blank behind it, or before it, even where it is wider.
std::string left_column(const std::string& text, std::size_t width);
std::string right_column(const std::string& text, std::size_t width);

/// A bar or target, never rounded to a value that it isn't: two decimals where these are all of it ("0.90"),
/// else as many as it has, up to six ("0.996").
std::string shown_bar(double bar);

/// A value that is under a bar: two decimals, or four or six where fewer would hide that it is.
std::string number_under(double value, double bar);

/// A share as "93 %".
std::string percent_text(double share);

/// "0.93" to two decimals, but never "1.00" for less than 1 nor "0.00" for more than 0: ">0.99", "<0.01".
std::string shown_chance(double chance);

/// "0.93 (90 %: 0.80 to 0.99)", a chance. Of a skewed belief the mean can lie outside the two 5 % quantiles
/// (mostly 0, rarely large); the interval is then shown as far as the mean, which still holds at least 90 %:
/// a number outside its own interval reads as a mistake.
std::string with_interval(double value, double low, double high);

}  // namespace frostcal::textfile
