// Decisions on glass whose truth is known: adopted settings, tired tubes, another machine. Each glass is
// hidden from the fit and not of the model's form.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "choice/glass_choice.hpp"
#include "numerics/random_engine.hpp"
#include "recovery/simulated_shop.hpp"
#include "table/adoption.hpp"
#include "table/carry.hpp"
#include "table/stale_check.hpp"

using namespace frostcal;

namespace {

choice::GridRequest twelve(const std::string& machine) {
  choice::GridRequest request;
  request.machine = machine;
  request.swatches = 12;
  return request;
}

double odds(double reject) {
  return reject / (1 - reject);
}

}  // namespace

// Bad: the true chance is under the target by more than 0.10, or a setting was replaced by one that is worse
// by more than 0.02. The target is lowered to 0.80, so that more is adopted and the test has something to
// judge.
TEST_CASE("what is adopted without objection keeps its promise", "[recovery][replicates]") {
  int adopted = 0;
  int bad = 0;
  int covered = 0;
  for (std::uint64_t seed = 500; seed < 506; ++seed) {
    bench::World world = bench::make_world(seed, bench::drawn_machine(seed));
    world.bar.chance = 0.80;
    test::SimulatedShop simulated({world});
    table::TableRecord record;
    for (int grid = 0; grid < 3; ++grid) {
      simulated.burn_grid(twelve("bench"));
      const table::AdoptionCase adoption =
          table::weigh_adoption(simulated.shop, simulated.evidence, simulated.surfaces,
                                test::SimulatedShop::kGlass, "bench", std::nullopt, record);
      if (!adoption.objections.empty() || adoption.same_setting) continue;
      const choice::Decision& proposed = *adoption.proposed;
      const double truth = world.chance(proposed.setting);
      ++adopted;
      covered += proposed.chance_low <= truth && truth <= proposed.chance_high;
      const bool worse = adoption.old && truth < world.chance(adoption.old->setting) - 0.02;
      bad += truth < 0.70 || worse;
      record.history.push_back(
          table::adopted_row(adoption, "Simulated", "", "2026-11-25T11:14:05Z", "0.1.0"));
    }
  }
  CAPTURE(adopted, bad, covered);
  CHECK(adopted >= 2);
  // At the 5 % that is allowed, 2 or more bad ones of up to 10 would have a chance under 0.09.
  CHECK(bad <= 1);
  CHECK(covered >= adopted - 2);
}

// Sixteen tight glasses, each at its best setting, which is promised truly; then the tube loses a fifth of
// its power. Where that triples the odds of a reject, the log must notice within 200 pieces.
TEST_CASE("a tube that loses a fifth of its power is noticed where it matters", "[recovery]") {
  int judged = 0;
  for (std::uint64_t seed = 600; seed < 616; ++seed) {
    const shop::Machine machine = bench::drawn_machine(seed);
    const bench::World world = bench::make_world(seed, machine, true);
    simulator::Exposure tired = simulator::exposure_of(machine, world.best.setting);
    tired.power_w *= 0.8;
    const double chance = simulator::true_chance(world.glass, tired, world.bar);
    const double held_to = std::max(1 - world.best.chance, table::kLeastRejects);
    if (odds(1 - chance) < table::kDecline.worse * odds(held_to)) continue;
    numerics::RandomEngine random(seed);
    int alarms = 0;
    for (int run = 0; run < 200; ++run) {
      std::vector<bool> good;
      for (int i = 0; i < 200; ++i) good.push_back(random.uniform() < chance);
      alarms += table::check_pieces(world.best.chance, good).alarm;
    }
    ++judged;
    CAPTURE(seed, world.best.chance, chance, alarms);
    CHECK(alarms >= 190);
  }
  CHECK(judged >= 4);
}

// Seed 402 goes to a spot of two thirds, seed 405 to one of five sixths; without the scaling by the spot they
// lost 0.88 and 0.11.
TEST_CASE("a carried setting is near the best of the other machine", "[recovery][replicates]") {
  for (const std::uint64_t seed : {402, 405}) {
    const shop::Machine from = bench::drawn_machine(seed);
    shop::Machine to = bench::drawn_machine(seed + 5000);
    to.name = "barn";
    to.top_speed_mm_s = 800;
    to.dpi = {250, 300, 500};
    const bench::World there = bench::make_world(seed, to);
    test::SimulatedShop simulated({bench::make_world(seed, from), there});
    for (int grid = 0; grid < 4; ++grid) simulated.burn_grid(twelve("bench"));
    const auto& learned =
        simulated.surfaces.glass(surface::surface_name(test::SimulatedShop::kGlass, "bench"));
    const auto carried = table::carried_by_surface(learned, from, to);
    REQUIRE(carried);
    const surface::ChanceInterval promise = table::carried_chance(learned, *carried, from, to);
    const double truth = there.chance(*carried);
    CAPTURE(seed, there.loss(*carried), promise.chance, promise.low, promise.high, truth);
    CHECK(there.loss(*carried) < 0.05);
    CHECK(promise.low <= truth);
  }
}
