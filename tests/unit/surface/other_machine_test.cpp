#include "surface/other_machine.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "support/peaked_glass.hpp"
#include "surface/shop_surface.hpp"

using Catch::Matchers::WithinAbs;
using namespace frostcal;
using namespace frostcal::surface;

namespace {

constexpr double kSpotRatio = 1.4;
const PhysicalSetting kBest = test::kPeakedBest;  // on the old machine, whose spot is 0.10 mm

FitOptions two_machines() {
  FitOptions options;
  options.centre = test::kPeakedCentre;
  options.spot_mm = {{"old", 0.10}, {"new", 0.10 * kSpotRatio}};
  return options;
}

/// The inverse of as_burned_there, from the definition.
PhysicalSetting on_new(PhysicalSetting setting) {
  setting.power_w *= kSpotRatio * kSpotRatio;
  setting.speed_mm_s *= kSpotRatio;
  setting.pitch_mm *= kSpotRatio;
  return setting;
}

/// n swatches of a glass that is best at the centre of the old machine.
std::vector<Observation> swatches(const std::string& machine, int n, std::uint64_t seed) {
  numerics::RandomEngine random(seed);
  std::vector<Observation> all;
  for (int i = 0; i < n; ++i) {
    Observation o;
    o.glass = "jug@" + machine;
    o.bottle = o.burn = machine + std::to_string(i % 2);
    o.grader = "Wen";
    const PhysicalSetting there = test::peaked_setting(random, i);
    o.setting = machine == "old" ? there : on_new(there);
    test::grade_as_peaked(o, there, random);
    all.push_back(o);
  }
  return all;
}

std::vector<Observation> joined(std::vector<Observation> first, const std::vector<Observation>& second) {
  first.insert(first.end(), second.begin(), second.end());
  return first;
}

}  // namespace

TEST_CASE("moved between machines a setting keeps dose, peak heat and overlap", "[surface][carry]") {
  const MachineMove move{kSpotRatio, 1};
  const PhysicalSetting there = as_burned_there(on_new(kBest), move);
  CHECK_THAT(there.power_w, WithinAbs(kBest.power_w, 1e-12));
  CHECK_THAT(there.speed_mm_s, WithinAbs(kBest.speed_mm_s, 1e-12));
  CHECK_THAT(there.pitch_mm, WithinAbs(kBest.pitch_mm, 1e-12));
  // P / (w^1.5 v^0.5): Cline and Anthony 1977, fast limit.
  const auto heat = [](const PhysicalSetting& s, double spot) {
    return s.power_w / (std::pow(spot, 1.5) * std::sqrt(s.speed_mm_s));
  };
  CHECK_THAT(heat(on_new(kBest), kSpotRatio), WithinAbs(heat(kBest, 1), 1e-12));
  CHECK_THAT(as_burned_there(kBest, {1, 0.8}).power_w, WithinAbs(kBest.power_w / 0.8, 1e-12));
  CHECK_THAT(move.power_doubt(), WithinAbs(std::hypot(std::sqrt(2.0) * 0.1, 0.5 * std::log(1.4)), 1e-12));
}

TEST_CASE("a machine that burned nothing yet believes what another taught of the glass", "[surface][carry]") {
  const ShopSurface shop = fit_shop(swatches("old", 48, 1), two_machines());
  const GlassSurface& unseen = shop.glass("jug@new");
  CHECK(unseen.status() == FitStatus::no_data);
  const double best = unseen.chance(on_new(kBest)).chance;
  PhysicalSetting hot = kBest;
  hot.power_w *= 1.8;
  const double hot_there = unseen.chance(on_new(hot)).chance;
  const double same_dials = unseen.chance(hot).chance;
  CAPTURE(best, shop.glass("jug@old").chance(kBest).chance, hot_there, same_dials);
  CHECK(shop.glass("jug@old").chance(kBest).chance > 0.9);
  CHECK(best > 0.5);
  CHECK(best < shop.glass("jug@old").chance(kBest).chance);  // it is not sure that the machines agree
  CHECK(hot_there < same_dials - 0.1);  // what chips there does so here on the larger spot's dials only
  CHECK(best > shop.glass("flask@new").chance(on_new(kBest)).chance + 0.1);  // another glass leans less
  FitOptions separate = two_machines();
  separate.pool = false;
  CHECK(best >
        fit_shop(swatches("old", 48, 1), separate).glass("jug@new").chance(on_new(kBest)).chance + 0.3);
}

TEST_CASE("one good swatch where the other machine is good raises the chance", "[surface][carry]") {
  const std::vector<Observation> old = swatches("old", 48, 1);
  Observation good;
  good.glass = "jug@new";
  good.bottle = good.burn = "first";
  good.grader = "Wen";
  good.setting = on_new(kBest);
  good.frost = 5;
  good.chipping = 0;
  const double before = fit_shop(old, two_machines()).glass("jug@new").chance(good.setting).chance;
  const double after =
      fit_shop(joined(old, {good}), two_machines()).glass("jug@new").chance(good.setting).chance;
  CAPTURE(before, after);
  CHECK(after > before + 0.05);
  CHECK(after > 0.7);
}

TEST_CASE("six swatches that agree with the other machine go further than alone", "[surface][carry]") {
  const std::vector<Observation> few = swatches("new", 6, 2);
  const std::vector<Observation> all = joined(swatches("old", 48, 1), few);
  const ChanceInterval with = fit_shop(all, two_machines()).glass("jug@new").chance(on_new(kBest));
  const ChanceInterval alone = fit_shop(few, two_machines()).glass("jug@new").chance(on_new(kBest));
  CAPTURE(with.chance, alone.chance);
  CHECK(with.chance > alone.chance + 0.02);
  CHECK(with.high - with.low < 0.5 * (alone.high - alone.low));
}

TEST_CASE("a machine whose grades contradict the other's goes by its own", "[surface][carry]") {
  std::vector<Observation> odd = swatches("new", 40, 3);
  for (Observation& o : odd) o.frost = 5 - o.frost.lowest;  // worst where the other one is best
  const auto chance = [&](const std::vector<Observation>& seen) {
    return fit_shop(seen, two_machines()).glass("jug@new").chance(on_new(kBest)).chance;
  };
  const double alone = chance(odd);
  CHECK(alone < 0.1);
  CHECK_THAT(chance(joined(swatches("old", 48, 1), odd)), WithinAbs(alone, 0.05));
}

TEST_CASE("of several other machines the one that knows most of the glass is heard", "[surface][carry]") {
  FitOptions options = two_machines();
  options.spot_mm["third"] = 0.10;
  std::vector<Observation> little = swatches("old", 6, 9);
  for (Observation& o : little) {
    o.glass = "jug@third";
    o.frost = 0;
  }
  const std::vector<Observation> old = swatches("old", 48, 1);
  const double one = fit_shop(old, options).glass("jug@new").chance(on_new(kBest)).chance;
  const double both = fit_shop(joined(old, little), options).glass("jug@new").chance(on_new(kBest)).chance;
  CHECK_THAT(both, WithinAbs(one, 0.1));
}
