// What the loop benchmark prints.
#pragma once

#include <iosfwd>
#include <string>
#include <vector>

#include "bench/strategy.hpp"

namespace frostcal::bench {

/// One strategy on one glass with one budget.
struct LossRow {
  std::string strategy;
  std::uint64_t glass_seed = 0;
  std::string kind;
  int budget = 0;
  Outcome outcome;
  double best = 0;   // true chance of the best setting
  double truth = 0;  // true chance of the chosen one; 0 when none was chosen
};

/// Quantile of a sample, linear between order statistics (type 7 of Hyndman & Fan 1996).
double sample_quantile(std::vector<double> values, double share);

/// Median / 90th percentile of the loss by budget, then burns and bottles, then the coverage of the 90 %
/// interval and the mean of promised less true chance at the chosen setting.
void print_loss_table(std::ostream& out, const std::vector<std::string>& strategies,
                      const std::vector<int>& budgets, const std::vector<LossRow>& rows);

/// All rows as CSV.
void print_loss_rows(std::ostream& out, const std::vector<LossRow>& rows);

}  // namespace frostcal::bench
