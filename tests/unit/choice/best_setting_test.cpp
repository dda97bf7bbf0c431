#include "choice/best_setting.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include "support/exact_setting.hpp"

#include "shop/shop_file.hpp"
#include "surface/physical_setting.hpp"

using namespace frostcal;
using choice::rank_settings;
using surface::PhysicalSetting;

namespace {

shop::Machine bench() {
  return shop::parse_shop(shop::shop_template(), "shop.toml").machines.front();
}

// A ridge in ln dose and ln heat with a given width, highest at (dose, heat) and at one pitch.
struct Ridge {
  double dose, heat, pitch, width;
  double operator()(const PhysicalSetting& s) const {
    const double u = std::log(s.power_w / (s.speed_mm_s * s.pitch_mm) / dose) / width;
    const double v = std::log(s.power_w / std::sqrt(s.speed_mm_s) / heat) / (2 * width);
    const double w = std::log(s.pitch_mm / pitch) / 0.4;
    return 0.97 * std::exp(-0.5 * (u * u + v * v + w * w));
  }
};

choice::ChanceOf all_of(const Ridge& ridge) {
  return [ridge](const std::vector<PhysicalSetting>& settings) {
    Eigen::VectorXd values(static_cast<Eigen::Index>(settings.size()));
    for (std::size_t i = 0; i < settings.size(); ++i)
      values[static_cast<Eigen::Index>(i)] = ridge(settings[i]);
    return values;
  };
}

double drifted(const Ridge& ridge, PhysicalSetting setting) {
  double sum = 0;
  const double power = setting.power_w;
  for (const double factor : {0.95, 1.0, 1.05}) {
    setting.power_w = power * factor;
    sum += ridge(setting);
  }
  return sum / 3;
}

double best_of_all(const Ridge& ridge, const shop::Machine& machine) {
  const choice::MachineSettings all = choice::machine_settings(machine);
  double best = 0;
  for (std::size_t d = 0; d < all.dpi.size(); ++d) {
    for (std::size_t s = 0; s < all.speed_pct.size(); ++s) {
      for (std::size_t p = 0; p < all.power_pct.size(); ++p) {
        best = std::max(best, drifted(ridge, surface::physical_setting(all.at(p, s, d, 0), machine)));
      }
    }
  }
  return best;
}

}  // namespace

TEST_CASE("coarse to fine misses the best of all settings by less than 0.002", "[choice]") {
  const shop::Machine machine = bench();
  for (const double width : {0.08, 0.2, 0.5}) {
    for (const double dose : {0.3, 0.9, 2.5}) {
      for (const double heat : {0.5, 1.4}) {
        const Ridge ridge{dose, heat, 0.09, width};
        const auto ranked = rank_settings(machine, all_of(ridge));
        CAPTURE(width, dose, heat);
        double found = 0;
        for (const auto& setting : ranked) found = std::max(found, setting.objective);
        CHECK(found > best_of_all(ridge, machine) - 0.002);
        CHECK(ranked.front().objective > found - 0.005 - 1e-12);
      }
    }
  }
}

TEST_CASE("equal settings: the faster one wins", "[choice]") {
  const auto flat = [](const std::vector<PhysicalSetting>& settings) {
    return Eigen::VectorXd::Constant(static_cast<Eigen::Index>(settings.size()), 0.5).eval();
  };
  const auto ranked = rank_settings(bench(), flat);
  CHECK(ranked.front().setting.speed_pct == 100);
  CHECK(ranked.front().setting.dpi == 200);
}

TEST_CASE("the fastest settings near the best are found among all", "[choice]") {
  const shop::Machine machine = bench();
  const Ridge ridge{0.4, 1.6, 25.4 / 300, 0.5};
  const choice::MachineSettings all = choice::machine_settings(machine);
  double highest = 0;
  double least = 1e9;
  for (const bool first_walk : {true, false}) {
    for (std::size_t d = 0; d < all.dpi.size(); ++d) {
      for (std::size_t s = 0; s < all.speed_pct.size(); ++s) {
        for (std::size_t p = 0; p < all.power_pct.size(); ++p) {
          const shop::Setting setting = all.at(p, s, d, 0);
          const double value = ridge(surface::physical_setting(setting, machine));
          if (first_walk) highest = std::max(highest, value);
          if (!first_walk && value >= highest - 0.02) {
            least = std::min(least, choice::seconds_per_cm2(setting, machine));
          }
        }
      }
    }
  }
  const auto fastest = choice::fastest_settings(machine, all_of(ridge), highest, 0.02, 5);
  REQUIRE(fastest.size() == 5);
  CHECK(choice::seconds_per_cm2(fastest[0].setting, machine) == least);
  for (const auto& one : fastest) CHECK(one.chance >= highest - 0.02);
}

TEST_CASE("the fastest settings on fine dials are found in blocks", "[choice]") {
  shop::Machine machine = bench();
  machine.power_pct.step = GENERATE(0.5, 0.2);  // the second is worth a first look at some powers
  machine.dose_limit_j_mm2 = GENERATE(0.0, 0.35);
  CAPTURE(machine.power_pct.step, machine.dose_limit_j_mm2);
  machine.speed_pct.step = machine.power_pct.step < 0.5 ? 1 : 0.5;
  machine.tone_pct = {50, 100, 50};
  const Ridge ridge{0.4, 1.6, 25.4 / 300, 0.5};
  std::size_t most_at_once = 0;
  std::size_t looked_at = 0;
  const auto watched = [&](const std::vector<PhysicalSetting>& settings) {
    most_at_once = std::max(most_at_once, settings.size());
    looked_at += settings.size();
    return all_of(ridge)(settings);
  };
  const std::vector<shop::Setting> every = choice::accepted_settings(machine, machine, 1, 1);
  double highest = 0;
  for (const shop::Setting& setting : every)
    highest = std::max(highest, ridge(surface::physical_setting(setting, machine)));
  std::vector<std::pair<double, double>> near;  // seconds, less chance
  for (const shop::Setting& setting : every) {
    const double value = ridge(surface::physical_setting(setting, machine));
    if (value >= highest - 0.02) near.emplace_back(choice::seconds_per_cm2(setting, machine), -value);
  }
  std::sort(near.begin(), near.end());
  const auto fastest = choice::fastest_settings(machine, watched, highest, 0.02, 40);
  REQUIRE(fastest.size() == 40);
  for (std::size_t i = 0; i < fastest.size(); ++i) {
    CHECK(choice::seconds_per_cm2(fastest[i].setting, machine) == near[i].first);
    CHECK(fastest[i].chance == -near[i].second);
  }
  if (machine.dose_limit_j_mm2 == 0) CHECK(every.size() > 400000);
  CHECK(most_at_once < 50000);
  CHECK(looked_at < every.size());
}

TEST_CASE("no setting above the dose limit is chosen", "[choice]") {
  shop::Machine machine = bench();
  machine.dose_limit_j_mm2 = 0.5;
  const Ridge ridge{2.0, 1.0, 0.09, 0.3};
  for (const auto& ranked : rank_settings(machine, all_of(ridge))) {
    REQUIRE(shop::dose_j_mm2(ranked.setting, machine) <= 0.5 * (1 + 1e-9));
  }
}

TEST_CASE("the tolerance is the drift at which the chance crosses the target", "[choice]") {
  const shop::Machine machine = bench();
  const shop::Setting setting{50, 50, 300, 100, "stucki", 1};
  const double power = surface::physical_setting(setting, machine).power_w;
  // Falls linearly from 1 at no drift to 0.9 at 10 %.
  const auto chance = [power](const std::vector<PhysicalSetting>& settings) {
    Eigen::VectorXd values(static_cast<Eigen::Index>(settings.size()));
    for (std::size_t i = 0; i < settings.size(); ++i) {
      values[static_cast<Eigen::Index>(i)] = 1 - std::abs(settings[i].power_w / power - 1) + 1e-9;
    }
    return values;
  };
  using choice::Vary;
  CHECK(choice::drift_tolerance_pct(setting, machine, chance, 0.9, Vary::power) == 10.0);
  CHECK(choice::drift_tolerance_pct(setting, machine, chance, 0.9, Vary::speed) == 50.0);
  CHECK(choice::drift_tolerance_pct(setting, machine, chance, 1.1, Vary::power) == 0.0);
}

TEST_CASE("alternatives differ by dpi or by a quarter in power or speed", "[choice]") {
  const shop::Machine machine = bench();
  const auto ranked = rank_settings(machine, all_of({0.9, 0.9, 0.09, 0.3}));
  const auto distinct = choice::distinct_settings(ranked, 4, 0.1);
  REQUIRE(distinct.size() > 1);
  CHECK(shop::same_setting(distinct.front().setting, ranked.front().setting));
  for (std::size_t i = 0; i < distinct.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j)
      CHECK_FALSE(shop::same_setting(distinct[i].setting, distinct[j].setting));
  }
}
