#include "cli/spend_option.hpp"

#include <algorithm>
#include <cmath>

#include "cli/command.hpp"
#include "errors/user_error.hpp"
#include "textfile/number_text.hpp"

namespace frostcal::cli {

choice::Spending read_spending(const std::string& text) {
  choice::Spending spend;
  if (text.empty()) return spend;
  const auto refuse = [&] {
    throw UsageError("--spend: found " + errors::quoted(text) +
                     ", expected limits such as 20min, 18swatches or 1bottle, joined by commas: up to 600 "
                     "minutes, 500 swatches and 50 bottles, each once and above 0");
  };
  std::size_t start = 0;
  while (start <= text.size()) {
    const std::size_t comma = std::min(text.find(',', start), text.size());
    const std::string limit = text.substr(start, comma - start);
    const std::size_t end = limit.find_first_not_of("0123456789. ");
    const std::string unit = end == std::string::npos ? "min" : limit.substr(end);
    std::string number = limit.substr(0, end);
    number.erase(std::remove(number.begin(), number.end(), ' '), number.end());
    const auto amount = textfile::parse_number(number);
    if (!amount || *amount <= 0) refuse();
    const auto whole = [&](int& kept, int most) {
      if (kept != 0 || *amount != std::floor(*amount) || *amount > most) refuse();
      kept = static_cast<int>(*amount);
    };
    if (unit == "min" || unit == "minute" || unit == "minutes") {
      if (spend.seconds != 0 || *amount > 600) refuse();
      spend.seconds = 60 * *amount;
    } else if (unit == "swatch" || unit == "swatches") {
      whole(spend.swatches, 500);
    } else if (unit == "bottle" || unit == "bottles") {
      whole(spend.bottles, 50);
    } else {
      refuse();
    }
    start = comma + 1;
  }
  return spend;
}

}  // namespace frostcal::cli
