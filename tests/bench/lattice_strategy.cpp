#include <cmath>

#include "bench/strategy.hpp"

namespace frostcal::bench {
namespace {

struct Cell {
  shop::Setting setting;
  double score = 0;
};

double score_of(const simulator::Grades& grades) {
  return grades.frost - 2.0 * grades.chipping;
}

// Rows and columns as square as the count allows: 12 is 4 x 3, 100 is 10 x 10.
std::pair<int, int> squarest(int count) {
  int columns = static_cast<int>(std::sqrt(static_cast<double>(count)));
  while (count % columns != 0) --columns;
  return {count / columns, columns};
}

double neighbourhood(const std::vector<Cell>& cells, int rows, int columns, int row, int column) {
  double sum = 0;
  int count = 0;
  for (int r = std::max(0, row - 1); r <= std::min(rows - 1, row + 1); ++r) {
    for (int c = std::max(0, column - 1); c <= std::min(columns - 1, column + 1); ++c) {
      sum += cells[static_cast<std::size_t>(r * columns + c)].score;
      ++count;
    }
  }
  return sum / count;
}

class LatticeStrategy : public Strategy {
 public:
  explicit LatticeStrategy(std::vector<int> dpi) : dpi_(std::move(dpi)) {}

  std::string name() const override {
    return dpi_.size() == 1 ? "lattice at " + std::to_string(dpi_[0]) + " dpi, best average grade"
                            : "lattice over " + std::to_string(dpi_.size()) + " dpi, best average grade";
  }

  std::vector<Outcome> run(const World& world, const std::vector<int>& budgets) override {
    std::vector<Outcome> outcomes;
    for (const int budget : budgets) outcomes.push_back(burned(world, budget));
    return outcomes;
  }

 private:
  Outcome burned(const World& world, int budget) const {
    Outcome outcome;
    const std::string grid = "lattice-" + std::to_string(budget);
    double best_score = -1e9;
    for (const int dpi : dpi_) {
      const auto [rows, columns] = squarest(budget / static_cast<int>(dpi_.size()));
      std::vector<Cell> cells;
      for (int row = 0; row < rows; ++row) {
        for (int column = 0; column < columns; ++column) {
          const double power = rows == 1 ? 55 : 10 + 90.0 * row / (rows - 1);
          const double speed = columns == 1 ? 55 : 10 + 90.0 * column / (columns - 1);
          const shop::Setting setting = snapped(world.machine, power, speed, dpi);
          const std::string bottle = grid + '-' + std::to_string(outcome.swatches / kSwatchesPerBottle + 1);
          const auto grades = world.burn(setting, {grid, bottle, std::to_string(outcome.swatches++), 0});
          cells.push_back({setting, score_of(grades)});
        }
      }
      for (int i = 0; i < rows * columns; ++i) {
        const double score = neighbourhood(cells, rows, columns, i / columns, i % columns);
        if (score <= best_score) continue;
        best_score = score;
        outcome.chosen = cells[static_cast<std::size_t>(i)].setting;
      }
    }
    outcome.bottles = (outcome.swatches + kSwatchesPerBottle - 1) / kSwatchesPerBottle;
    outcome.burns = std::max(outcome.bottles, static_cast<int>(dpi_.size()));
    return outcome;
  }

  std::vector<int> dpi_;
};

}  // namespace

std::unique_ptr<Strategy> lattice_strategy(std::vector<int> dpi) {
  return std::make_unique<LatticeStrategy>(std::move(dpi));
}

}  // namespace frostcal::bench
