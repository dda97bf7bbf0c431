#include "table/carry.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "shop/shop_file.hpp"
#include "support/exact_setting.hpp"
#include "surface/physical_setting.hpp"
#include "surface/shop_surface.hpp"
#include "table/adoption.hpp"
#include "table/settings_table.hpp"

using namespace frostcal;
using namespace frostcal::table;
using Catch::Matchers::WithinAbs;

namespace {

shop::Machine bench() {
  return shop::parse_shop(shop::shop_template(), "shop.toml").machines.front();
}

// The same made-up glass on either machine: even frost round a dose of 0.9 J/mm2 at the glass, chips above.
// `delivered` is the share of its rated power that the machine has.
surface::Observation burned(const shop::Setting& setting, const shop::Machine& machine, double delivered,
                            int number) {
  const double dose = std::log(delivered * shop::dose_j_mm2(setting, machine) / 0.9);
  surface::Observation seen;
  seen.glass = surface::surface_name("amber-jug", machine.name);
  seen.bottle = machine.name + std::to_string(number % 2);
  seen.burn = seen.bottle;
  seen.grader = "Ann";
  seen.swatch = std::to_string(number);
  seen.setting = surface::physical_setting(setting, machine);
  seen.frost = dose < -0.75 ? 1 : dose < -0.5 ? 2 : dose < -0.25 ? 3 : dose < 0.1 ? 4 : 5;
  seen.chipping = dose > 0.8 ? 2 : dose > 0.5 ? 1 : 0;
  return seen;
}

}  // namespace

TEST_CASE("to a twin the setting stays; at twice the watts it takes half the percentage", "[table]") {
  const shop::Machine from = bench();
  const shop::Setting setting{40, 50, 300, 100, "stucki", 1};
  CHECK(carried_by_dials(setting, from, from) == setting);
  shop::Machine strong = from;
  strong.rated_power_w = 120;
  const auto carried = carried_by_dials(setting, from, strong);
  REQUIRE(carried);
  CHECK(*carried == shop::Setting{20, 50, 300, 100, "stucki", 1});
  shop::Machine fast = from;
  fast.top_speed_mm_s = 2400;
  CHECK(carried_by_dials(setting, from, fast) == shop::Setting{40, 25, 300, 100, "stucki", 1});
}

TEST_CASE("where the dials differ, dose, heat and pitch stay as near as they can", "[table]") {
  const shop::Machine from = bench();
  shop::Machine to = from;
  to.rated_power_w = 90;
  to.top_speed_mm_s = 700;
  to.dpi = {250, 500};
  to.screens = {"ordered"};
  const shop::Setting setting{60, 40, 300, 100, "stucki", 1};
  const auto carried = carried_by_dials(setting, from, to);
  REQUIRE(carried);
  CHECK(shop::accepts(to, *carried));
  CHECK(carried->dpi == 250);
  CHECK(carried->screen == "ordered");
  const CarryRatios ratios = carry_ratios(setting, from, *carried, to);
  CHECK_THAT(std::log(ratios.dose), WithinAbs(0, 0.03));  // one step of a dial is about 2 %
  CHECK_THAT(std::log(ratios.heat), WithinAbs(0, 0.03));
  CHECK_THAT(ratios.pitch, WithinAbs(1.2, 1e-12));

  to.dose_limit_j_mm2 = 1e-6;
  CHECK_FALSE(carried_by_dials(setting, from, to));
}

TEST_CASE("another spot: the scaling keeps dose, peak rise and overlap", "[table]") {
  const shop::Machine from = bench();
  shop::Machine to = from;
  to.spot_mm = 1.5 * from.spot_mm;
  const shop::Setting setting{40, 50, 300, 100, "stucki", 1};
  const auto there = surface::physical_setting(setting, to);
  const auto here = as_burned_on(setting, from, to);
  CHECK_THAT(here.power_w / (here.speed_mm_s * here.pitch_mm),
             WithinAbs(there.power_w / (there.speed_mm_s * there.pitch_mm), 1e-12));
  const auto rise = [](const surface::PhysicalSetting& s, double spot) {
    return s.power_w / (std::pow(spot, 1.5) * std::sqrt(s.speed_mm_s));
  };
  CHECK_THAT(rise(here, from.spot_mm), WithinAbs(rise(there, to.spot_mm), 1e-9));
  CHECK_THAT(here.pitch_mm / from.spot_mm, WithinAbs(there.pitch_mm / to.spot_mm, 1e-12));

  // By dials: a spot half as wide again wants 3/2 of the pitch and speed and 9/4 of the power.
  to.dpi = {200, 300};
  const auto carried = carried_by_dials(setting, from, to);
  REQUIRE(carried);
  CHECK(*carried == shop::Setting{90, 75, 200, 100, "stucki", 1});
}

TEST_CASE("doubt grows with the difference of the spots and lowers what a surface promises", "[table]") {
  const shop::Machine from = bench();
  shop::Machine to = from;
  CHECK_THAT(carry_doubt(from, to), WithinAbs(std::sqrt(2.0) * 0.10, 1e-12));
  to.spot_mm = 2 * from.spot_mm;
  CHECK_THAT(carry_doubt(from, to), WithinAbs(std::hypot(std::sqrt(2.0) * 0.10, 0.5 * std::log(2.0)), 1e-12));
  to.spot_mm = from.spot_mm;

  // A window in power: no frost below 25 W, chips above 32 W at 500 mm/s and 300 dpi.
  std::vector<surface::Observation> seen;
  for (int i = 0; i < 60; ++i) {
    surface::Observation one;
    one.glass = "amber-jug@bench";
    one.bottle = "amber-jug-" + std::to_string(i % 4);
    one.burn = "0001-amber-jug/" + std::to_string(i % 4);
    one.grader = "Ann";
    one.swatch = std::to_string(i);
    one.setting = {14.0 + i % 30, 500, 25.4 / 300, 1, 1};
    one.frost = one.setting.power_w < 25 ? 2 : 5;
    one.chipping = one.setting.power_w > 32 ? 2 : 0;
    seen.push_back(one);
  }
  shop::Shop shop;
  shop.machines = {from};
  const auto surfaces = surface::fit_shop(seen, surface::shop_fit_options(shop));
  const auto& learned = surfaces.glass("amber-jug@bench");
  const shop::Setting middle{47, 42, 300, 100, "stucki", 1};  // 28.2 W, 504 mm/s
  const double here = learned.chance(surface::physical_setting(middle, from)).chance;
  const surface::ChanceInterval there = carried_chance(learned, middle, from, to);
  CAPTURE(here, there.chance, there.low, there.high);
  CHECK(there.chance < here - 0.05);
  CHECK(there.low <= there.chance);
  CHECK(there.chance <= there.high);
  const auto best = carried_by_surface(learned, from, to);
  REQUIRE(best);
  CHECK(shop::accepts(to, *best));
}

// The barn laser delivers 0.55 of what is written on it, so what is carried there is too weak: frost 2 or 3.
TEST_CASE("what a tired machine taught is carried to a fresh one without what the tube lost", "[table]") {
  const shop::Machine tired = bench();
  shop::Machine fresh = tired;
  fresh.name = "fresh";
  const shop::Machine* machines[] = {&tired, &fresh};
  std::vector<surface::Observation> swatches;
  int number = 0;
  // Three bottles of each of two glasses in January, and as many in December with three quarters of the
  // power.
  for (const char* glass : {"amber-jug", "flask"}) {
    for (const double delivered : {1.0, 0.75}) {
      for (int i = 0; i < 36; ++i) {
        const shop::Setting setting{10.0 + 2.0 * (i % 18), 30.0 + 10.0 * (i % 5), 300, 100, "stucki", 1};
        surface::Observation seen = burned(setting, *machines[0], delivered, number++);
        seen.glass = surface::surface_name(glass, tired.name);
        seen.day =
            delivered < 1 ? "2026-12-0" + std::to_string(1 + i % 3) : "2026-01-0" + std::to_string(1 + i % 3);
        seen.bottle = seen.burn = glass + seen.day;
        swatches.push_back(seen);
      }
    }
  }
  shop::Shop shop = shop::parse_shop(shop::shop_template(), "shop.toml");
  const surface::ShopSurface surfaces = surface::fit_shop(shop, swatches);
  const double share = delivered_share(surfaces, tired, fresh);
  CHECK(share > 0.68);
  CHECK(share < 0.85);
  CHECK_THAT(delivered_share(surfaces, fresh, tired), WithinAbs(1 / share, 1e-12));
  const surface::GlassSurface& learned = surfaces.glass(surface::surface_name("amber-jug", tired.name));
  const auto carried = carried_by_surface(learned, tired, fresh, share);
  const auto as_it_is = carried_by_surface(learned, tired, fresh);
  REQUIRE(carried);
  REQUIRE(as_it_is);
  // Even frost is at 0.9 J/mm2 of what reaches the glass.
  const double dose = shop::dose_j_mm2(*carried, fresh);
  CHECK(dose < shop::dose_j_mm2(*as_it_is, fresh));
  CHECK(dose > 0.7);
  CHECK(dose < 1.3);
}

TEST_CASE("a batch on a machine that knows nothing yet is judged by what is carried", "[table][carry]") {
  shop::Shop shop = shop::parse_shop(shop::shop_template(), "shop.toml");
  const shop::Machine from = shop.machines.front();
  shop::Machine to = from;
  to.name = "barn";
  to.rated_power_w = 80;
  std::vector<surface::Observation> swatches;
  int number = 0;
  for (const double power : {30.0, 42.0, 60.0, 85.0}) {
    for (const double speed : {20.0, 28.0, 40.0, 56.0}) {
      for (int repeat = 0; repeat < 2; ++repeat)
        swatches.push_back(burned({power, speed, 300, 100, "stucki", 1}, from, 1, ++number));
    }
  }
  const surface::ShopSurface surfaces = surface::fit_shop(shop, swatches);
  const surface::GlassSurface& learned = surfaces.glass("amber-jug@bench");
  const auto carried = carried_by_surface(learned, from, to);
  REQUIRE(carried);
  const surface::PhysicalSetting centre = surface::physical_setting(*carried, to);
  const surface::MachineMove move = move_between(from, to, 1);
  const DrawnChance batch = carried_batch(learned, {centre}, move);
  const surface::ChanceInterval told = carried_chance(learned, *carried, from, to);
  CHECK(batch.chance.size() == batch.weight.size());
  CHECK_THAT(batch.weight.sum(), WithinAbs(1, 1e-12));
  CHECK(batch.single.chance == told.chance);
  CHECK(batch.single.low == told.low);
  CHECK_THAT(batch.mean(), WithinAbs(told.chance, 0.05));
  // What the bottles share makes luck alike: without the doubt more batches come out whole.
  CHECK(no_reject_chance(20, batch) > std::pow(batch.mean(), 20));
  surface::PhysicalSetting neck = centre;  // lines at half the distance: twice the dose
  neck.pitch_mm /= 2;
  CHECK(carried_batch(learned, {neck}, move).single.chance < told.chance);
}

TEST_CASE("a carried setting stays while evidence is thin, and goes when a better one is shown", "[table]") {
  shop::Shop shop = shop::parse_shop(shop::shop_template(), "shop.toml");
  const shop::Machine from = shop.machines.front();
  shop::Machine to = from;
  to.name = "barn";
  to.rated_power_w = 80;
  to.top_speed_mm_s = 900;
  shop.machines.push_back(to);
  constexpr double kDelivered = 0.55;
  surface::ShopEvidence evidence;
  int number = 0;
  for (const double power : {30.0, 42.0, 60.0, 85.0}) {
    for (const double speed : {20.0, 28.0, 40.0, 56.0}) {
      for (int repeat = 0; repeat < 2; ++repeat) {
        evidence.observations.push_back(burned({power, speed, 300, 100, "stucki", 1}, from, 1, ++number));
      }
    }
  }
  TableRecord record;
  const auto weigh = [&](const std::optional<shop::Setting>& setting) {
    const auto surfaces = surface::fit_shop(evidence.observations, surface::shop_fit_options(shop));
    return weigh_adoption(shop, evidence, surfaces, "amber-jug", "barn", setting, record);
  };
  const auto surfaces = surface::fit_shop(evidence.observations, surface::shop_fit_options(shop));
  const auto carried = carried_by_surface(surfaces.glass("amber-jug@bench"), from, to);
  REQUIRE(carried);
  const AdoptionCase start = weigh(carried);
  CHECK(start.needs_reason);  // nothing is graded there
  const surface::ChanceInterval told = carried_chance(surfaces.glass("amber-jug@bench"), *carried, from, to);
  CHECK(start.carried_from == "bench");
  CHECK(start.proposed->chance == told.chance);  // as `carry` says
  CHECK(start.proposed->chance_low == told.low);
  CHECK(start.proposed->chance_high == told.high);
  record.history.push_back(adopted_row(start, "Ann", "carried from bench", "2026-11-25T11:14:05Z", "0.1.0"));
  CHECK(record.history.back().row.status == Status::provisional);
  const surface::Observation truth = burned(*carried, to, kDelivered, 0);
  REQUIRE(truth.frost.highest < 4);

  for (int i = 0; i < 2; ++i) evidence.observations.push_back(burned(*carried, to, kDelivered, ++number));
  CHECK(weigh(carried).carried_from.empty());  // this machine speaks for itself now
  const AdoptionCase thin = weigh(std::nullopt);
  CAPTURE(shop::to_text(*carried), shop::to_text(thin.proposed->setting),
          thin.comparison->probability_better);
  CHECK(thin.needs_reason);
  CHECK_FALSE(replaces(*thin.comparison));
  CHECK(shop::same_setting(in_force(record.history, "amber-jug", "barn")->setting, *carried));

  const auto burn_lattice = [&] {
    for (const double power : {45.0, 63.0, 90.0}) {
      for (const double speed : {20.0, 28.0, 40.0, 56.0}) {
        evidence.observations.push_back(
            burned({power, speed, 300, 100, "stucki", 1}, to, kDelivered, ++number));
      }
    }
  };
  burn_lattice();
  const AdoptionCase shown = weigh(std::nullopt);
  CAPTURE(shop::to_text(shown.proposed->setting), shown.comparison->probability_better,
          shown.proposed->chance);
  CHECK(replaces(*shown.comparison));
  CHECK(shown.objections.empty());
  const surface::Observation better = burned(shown.proposed->setting, to, kDelivered, 0);
  CHECK(better.frost.lowest >= 4);
  CHECK(better.chipping == 0);
  record.history.push_back(adopted_row(shown, "Ann", "", "2026-11-26T11:14:05Z", "0.1.0"));
  CHECK(shop::same_setting(in_force(record.history, "amber-jug", "barn")->setting, shown.proposed->setting));
}
