#include "bench/loss_table.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <numeric>
#include <ostream>

namespace frostcal::bench {
namespace {

std::string text(const char* format, double a, double b) {
  char line[64];
  std::snprintf(line, sizeof line, format, a, b);
  return line;
}

double mean(const std::vector<double>& values) {
  return values.empty()
             ? NAN
             : std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
}

struct Summary {
  std::vector<double> loss, burns, bottles, swatches, bias, covered;
};

Summary summary_of(const std::vector<LossRow>& rows, const std::string& strategy, int budget) {
  Summary sum;
  for (const LossRow& row : rows) {
    if (row.strategy != strategy || row.budget != budget) continue;
    sum.loss.push_back(row.best - row.truth);
    sum.burns.push_back(row.outcome.burns);
    sum.bottles.push_back(row.outcome.bottles);
    sum.swatches.push_back(row.outcome.swatches);
    if (!row.outcome.promise) continue;
    const Outcome::Promise& promise = *row.outcome.promise;
    sum.bias.push_back(promise.chance - row.truth);
    sum.covered.push_back(row.truth >= promise.low && row.truth <= promise.high);
  }
  return sum;
}

template <typename Cell>
void print_block(std::ostream& out, const std::string& title, const std::vector<std::string>& strategies,
                 const std::vector<int>& budgets, Cell cell) {
  out << "\n| " << title << " |";
  for (const int budget : budgets) out << ' ' << budget << " |";
  out << "\n| --- |";
  for (std::size_t i = 0; i < budgets.size(); ++i) out << " --- |";
  for (const std::string& strategy : strategies) {
    std::string line;
    for (const int budget : budgets) {
      const std::string found = cell(strategy, budget);
      if (!found.empty()) line += ' ' + found + " |";
    }
    if (!line.empty()) out << "\n| " << strategy << " |" << line;
  }
  out << '\n';
}

}  // namespace

double sample_quantile(std::vector<double> values, double share) {
  if (values.empty()) return NAN;
  std::sort(values.begin(), values.end());
  const double place = share * static_cast<double>(values.size() - 1);
  const auto below = static_cast<std::size_t>(place);
  const std::size_t above = std::min(below + 1, values.size() - 1);
  return values[below] + (place - static_cast<double>(below)) * (values[above] - values[below]);
}

void print_loss_table(std::ostream& out, const std::vector<std::string>& strategies,
                      const std::vector<int>& budgets, const std::vector<LossRow>& rows) {
  print_block(
      out, "loss, median / 90th percentile", strategies, budgets, [&](const std::string& s, int budget) {
        const Summary sum = summary_of(rows, s, budget);
        return sum.loss.empty()
                   ? std::string()
                   : text("%.3f / %.2f", sample_quantile(sum.loss, 0.5), sample_quantile(sum.loss, 0.9));
      });
  print_block(out, "burns / bottles, mean", strategies, budgets, [&](const std::string& s, int budget) {
    const Summary sum = summary_of(rows, s, budget);
    return sum.loss.empty() ? std::string() : text("%.1f / %.1f", mean(sum.burns), mean(sum.bottles));
  });
  print_block(out, "90 % interval covers / promise less truth", strategies, budgets,
              [&](const std::string& s, int budget) {
                const Summary sum = summary_of(rows, s, budget);
                return sum.bias.empty() ? std::string()
                                        : text("%.2f / %+.3f", mean(sum.covered), mean(sum.bias));
              });
}

void print_loss_rows(std::ostream& out, const std::vector<LossRow>& rows) {
  out << "strategy,glass_seed,kind,budget,swatches,burns,bottles,power_pct,speed_pct,dpi,best,truth,promise,"
         "low,high\n";
  for (const LossRow& row : rows) {
    out << '"' << row.strategy << "\"," << row.glass_seed << ',' << row.kind << ',' << row.budget << ','
        << row.outcome.swatches << ',' << row.outcome.burns << ',' << row.outcome.bottles << ',';
    if (row.outcome.chosen) {
      const shop::Setting& chosen = *row.outcome.chosen;
      out << chosen.power_pct << ',' << chosen.speed_pct << ',' << chosen.dpi << ',';
    } else {
      out << ",,,";
    }
    out << row.best << ',' << row.truth << ',';
    if (row.outcome.promise) {
      out << row.outcome.promise->chance << ',' << row.outcome.promise->low << ','
          << row.outcome.promise->high << '\n';
    } else {
      out << ",,\n";
    }
  }
}

}  // namespace frostcal::bench
