#include "design/opening_grid.hpp"

#include <catch2/catch.hpp>

#include <set>
#include "support/exact_setting.hpp"

#include "shop/shop_file.hpp"

using namespace frostcal;
using namespace frostcal::design;

namespace {
shop::Machine bench() {
  return shop::parse_shop(shop::shop_template(), "shop.toml").machines.front();
}
}  // namespace

TEST_CASE("spread settings are the machine's, distinct, within the inner range, on few dpi", "[design]") {
  const shop::Machine machine = bench();
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    const auto settings = spread_settings(machine, machine, {12, 3, 0.8, 40, seed});
    REQUIRE(settings.size() == 12);
    std::set<int> dpi;
    for (std::size_t i = 0; i < settings.size(); ++i) {
      CHECK(shop::accepts(machine, settings[i]));
      // 5..100 %: the inner 80 % of the log range is 6.75 to 74.1.
      CHECK(settings[i].power_pct >= 6.5);
      CHECK(settings[i].power_pct <= 75);
      dpi.insert(settings[i].dpi);
      for (std::size_t j = 0; j < i; ++j) CHECK(settings[i] != settings[j]);
    }
    CHECK(dpi.size() == 3);
  }
  CHECK(spread_settings(machine, machine, {12, 3, 0.8, 40, 4}) ==
        spread_settings(machine, machine, {12, 3, 0.8, 40, 4}));
}

TEST_CASE("the dose limit and narrowed ranges are kept", "[design]") {
  shop::Machine machine = bench();
  machine.dose_limit_j_mm2 = 0.8;
  shop::Machine allowed = machine;
  allowed.power_pct = {20, 60, 1};
  allowed.dpi = {300};
  for (const auto& setting : spread_settings(machine, allowed, {10, 3, 0.8, 20, 1})) {
    CHECK(shop::dose_j_mm2(setting, machine) <= 0.8 * (1 + 1e-9));
    CHECK(setting.dpi == 300);
    CHECK(setting.power_pct >= 20);
    CHECK(setting.power_pct <= 60);
  }
  CHECK(lattice_settings(machine, allowed, 5, 4).size() <= 20);
}

TEST_CASE("a low dose limit leaves as many settings as are asked for, none twice", "[design]") {
  shop::Machine machine = bench();
  for (const auto& [limit, swatches] : {std::pair{0.1, 24}, {0.05, 40}, {0.03, 12}}) {
    machine.dose_limit_j_mm2 = limit;
    CAPTURE(limit);
    const auto settings = spread_settings(machine, machine, {swatches, 3, 0.8, 40, 1});
    CHECK(static_cast<int>(settings.size()) == swatches);
    for (std::size_t i = 0; i < settings.size(); ++i) {
      CHECK(shop::accepts(machine, settings[i]));
      for (std::size_t j = 0; j < i; ++j) CHECK(settings[i] != settings[j]);
    }
  }
  machine.dose_limit_j_mm2 = 0.0001;
  CHECK(spread_settings(machine, machine, {12, 3, 0.8, 40, 1}).empty());
}

TEST_CASE("a lattice has every pair of levels", "[design]") {
  shop::Machine machine = bench();
  shop::Machine allowed = machine;
  allowed.dpi = {300};
  const auto settings = lattice_settings(machine, allowed, 10, 10);
  CHECK(settings.size() == 100);
  CHECK(settings.front().power_pct == 5);
  CHECK(settings.back().power_pct == 100);
  // A dial with fewer values than levels gives each of them once.
  allowed.power_pct = {50, 52, 1};
  CHECK(lattice_settings(machine, allowed, 6, 6).size() == 18);
}
