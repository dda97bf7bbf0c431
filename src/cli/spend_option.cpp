#include "cli/spend_option.hpp"

#include <algorithm>
#include <cmath>

#include "cli/command.hpp"
#include "cli/quantity.hpp"
#include "errors/user_error.hpp"

namespace frostcal::cli {

choice::Spending read_spending(const std::string& text) {
  choice::Spending spend;
  if (text.empty()) return spend;
  const auto refuse = [&] {
    throw UsageError("--spend: found " + errors::quoted(text) +
                     ", expected limits such as 20min, 1h, 18swatches or 1bottle, joined by commas: up to "
                     "600 minutes, 500 swatches and 50 bottles, each once and above 0");
  };
  std::size_t start = 0;
  while (start <= text.size()) {
    const std::size_t comma = std::min(text.find(',', start), text.size());
    const std::string limit = text.substr(start, comma - start);
    const auto whole = [&](int& kept, double amount, int most) {
      if (kept != 0 || amount != std::floor(amount) || amount <= 0 || amount > most) refuse();
      kept = static_cast<int>(amount);
    };
    if (const auto minutes = read_amount(limit, Unit::minutes)) {
      if (spend.seconds != 0 || *minutes <= 0 || *minutes > 600) refuse();
      spend.seconds = 60 * *minutes;
    } else if (const auto swatches = read_amount(limit, Unit::swatches)) {
      whole(spend.swatches, *swatches, 500);
    } else if (const auto bottles = read_amount(limit, Unit::bottles)) {
      whole(spend.bottles, *bottles, 50);
    } else {
      refuse();
    }
    start = comma + 1;
  }
  return spend;
}

}  // namespace frostcal::cli
