#include <algorithm>
#include <cmath>
#include <set>

#include "bench/strategy.hpp"

namespace frostcal::bench {
namespace {

constexpr int kLevels = 4;

enum Dial { power, speed, dpi, kDials };

class OneFactorStrategy : public Strategy {
 public:
  std::string name() const override { return "one factor at a time"; }

  std::vector<Outcome> run(const World& world, const std::vector<int>& budgets) override {
    std::vector<Outcome> outcomes;
    double place[kDials] = {50, 50, 300};
    double share = 1.0;  // of the whole log range that a sweep covers
    int burned = 0;
    int burns = 0;
    std::size_t next = 0;
    for (int round = 1; next < budgets.size(); ++round) {
      for (int dial = 0; dial < kDials && next < budgets.size(); ++dial) {
        double best_score = -1e9;
        double best_level = place[dial];
        std::set<int> dpi_burned;
        for (const double level : levels(world.machine, static_cast<Dial>(dial), place[dial], share)) {
          double tried[kDials] = {place[0], place[1], place[2]};
          tried[dial] = level;
          const shop::Setting setting = snapped(world.machine, tried[power], tried[speed], tried[Dial::dpi]);
          dpi_burned.insert(setting.dpi);
          const std::string grid = "sweep-" + std::to_string(round) + '-' + std::to_string(dial);
          const std::string bottle = "sweep-" + std::to_string(burned / kSwatchesPerBottle + 1);
          const auto grades = world.burn(setting, {grid, bottle, std::to_string(burned++), 0});
          const double score = grades.frost - 2.0 * grades.chipping;
          if (score > best_score) {
            best_score = score;
            best_level = level;
          }
          if (next < budgets.size() && burned == budgets[next]) {
            double now[kDials] = {place[0], place[1], place[2]};
            now[dial] = best_level;
            Outcome outcome;
            outcome.swatches = burned;
            outcome.burns = burns + static_cast<int>(dpi_burned.size());
            outcome.bottles = (burned + kSwatchesPerBottle - 1) / kSwatchesPerBottle;
            outcome.chosen = snapped(world.machine, now[power], now[speed], now[Dial::dpi]);
            outcomes.push_back(outcome);
            ++next;
          }
        }
        burns += static_cast<int>(dpi_burned.size());
        place[dial] = best_level;
      }
      share = std::max(0.1, share / 2);
    }
    return outcomes;
  }

 private:
  static std::vector<double> levels(const shop::Machine& machine, Dial dial, double middle, double share) {
    const double low = dial == power   ? machine.power_pct.min
                       : dial == speed ? machine.speed_pct.min
                                       : machine.dpi.front();
    const double high = dial == power   ? machine.power_pct.max
                        : dial == speed ? machine.speed_pct.max
                                        : machine.dpi.back();
    const double width = share * std::log(high / low);
    const double start = std::clamp(std::log(middle) - width / 2, std::log(low), std::log(high) - width);
    std::vector<double> found;
    for (int i = 0; i < kLevels; ++i) found.push_back(std::exp(start + width * i / (kLevels - 1)));
    return found;
  }
};

}  // namespace

std::unique_ptr<Strategy> one_factor_strategy() {
  return std::make_unique<OneFactorStrategy>();
}

}  // namespace frostcal::bench
