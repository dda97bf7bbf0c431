#include "table/adoption.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "errors/user_error.hpp"
#include "numerics/random_engine.hpp"
#include "shop/shop_file.hpp"
#include "surface/physical_setting.hpp"

using namespace frostcal;
using namespace frostcal::table;

namespace {

const char* const kNow = "2026-11-25T11:14:05Z";

shop::Shop one_shop() {
  return shop::parse_shop(shop::shop_template(), "shop.toml");
}

// Grades of a made-up glass whose frost rises and whose chips start with dose: acceptable round 0.9 J/mm2.
surface::Observation graded(const shop::Shop& shop, const shop::Setting& setting, int number,
                            double frost_noise, double chipping_noise) {
  const shop::Machine& machine = shop.machines.front();
  const double dose = std::log(shop::dose_j_mm2(setting, machine) / 0.9);
  surface::Observation seen;
  seen.glass = surface::surface_name("amber-jug", "bench");
  seen.bottle = "amber-jug-" + std::to_string(number % 3);
  seen.burn = "0001-amber-jug/" + std::to_string(number % 3);
  seen.grader = "Ann";
  seen.swatch = "0001-amber-jug A" + std::to_string(number);
  seen.setting = surface::physical_setting(setting, machine);
  const double frost = 5.0 - 2.4 * std::max(0.0, -dose - 0.4) + 0.3 * frost_noise;
  const double chipping = 4 * (dose - 0.7) + 0.3 * chipping_noise;
  seen.frost = std::clamp(static_cast<int>(std::lround(frost)), 0, 5);
  seen.chipping = std::clamp(static_cast<int>(std::lround(chipping)), 0, 3);
  return seen;
}

surface::ShopEvidence evidence_at(const shop::Shop& shop, const std::vector<double>& powers,
                                  const std::vector<double>& speeds, int repeats) {
  numerics::RandomEngine random(7);
  surface::ShopEvidence evidence;
  int number = 0;
  for (int repeat = 0; repeat < repeats; ++repeat) {
    for (const double power : powers) {
      for (const double speed : speeds) {
        const double first = random.normal();
        evidence.observations.push_back(
            graded(shop, {power, speed, 300, 100, "stucki", 1}, ++number, first, random.normal()));
      }
    }
  }
  return evidence;
}

// A shop with 72 graded swatches of one glass and its fit.
struct GradedShop {
  shop::Shop shop = one_shop();
  surface::ShopEvidence evidence = evidence_at(shop, {30, 45, 65, 90}, {25, 40, 60}, 6);
  surface::ShopSurface surfaces = surface::fit_shop(evidence.observations, surface::shop_fit_options(shop));

  AdoptionCase weigh(const std::optional<shop::Setting>& setting,
                     const std::optional<SettingsRow>& old) const {
    return weigh_adoption(shop, evidence, surfaces, "amber-jug", "bench", setting, old);
  }
};

}  // namespace

TEST_CASE("a first setting that the evidence supports is adopted without objection", "[table]") {
  const GradedShop graded_shop;
  const AdoptionCase adoption = graded_shop.weigh(std::nullopt, std::nullopt);
  for (const std::string& objection : adoption.objections) UNSCOPED_INFO(objection);
  REQUIRE(adoption.proposed);
  CHECK(adoption.objections.empty());
  CHECK(adoption.swatches == 72);
  CHECK(adoption.bottles == 3);
  CHECK_FALSE(adoption.comparison);
  const HistoryRow row = adopted_row(adoption, "Ann", "", kNow, "0.1.0");
  CHECK(row.row.setting == adoption.proposed->setting);
  CHECK(row.row.chance == adoption.proposed->chance);
  CHECK(row.row.status == status_of(*adoption.proposed, 72, 3, graded_shop.shop.acceptance));
}

TEST_CASE("what the evidence does not support is objected to, each for its own reason", "[table]") {
  const GradedShop graded_shop;

  SECTION("nothing known") {
    const surface::ShopEvidence nothing;
    const auto unfitted = surface::fit_shop({}, surface::shop_fit_options(graded_shop.shop));
    const auto none =
        weigh_adoption(graded_shop.shop, nothing, unfitted, "amber-jug", "bench", std::nullopt, std::nullopt);
    CHECK_FALSE(none.proposed);
    REQUIRE(none.objections.size() == 1);
    CHECK(none.objections[0] ==
          "nothing is known of amber-jug on bench yet, so there is no setting to propose");
  }
  SECTION("a poor setting named by hand") {
    const auto poor = graded_shop.weigh(shop::Setting{10, 100, 300, 100, "stucki", 1}, std::nullopt);
    REQUIRE_FALSE(poor.objections.empty());
    CHECK(poor.objections[0].find("is under the shop's target of 0.90") != std::string::npos);
    CHECK(poor.by_hand);
    CHECK(adopted_row(poor, "Ann", "because", kNow, "0.1.0").row.status == Status::provisional);
  }
  SECTION("well outside what was burned") {
    const auto beyond = graded_shop.weigh(shop::Setting{100, 100, 600, 100, "stucki", 1}, std::nullopt);
    const bool said = std::any_of(
        beyond.objections.begin(), beyond.objections.end(),
        [](const std::string& text) { return text.find("outside what was burned") != std::string::npos; });
    CHECK(said);
  }
  SECTION("no better than what is in force") {
    SettingsRow old =
        adopted_row(graded_shop.weigh(std::nullopt, std::nullopt), "Ann", "", kNow, "0.1.0").row;
    old.setting.power_pct += 1;
    const auto second = graded_shop.weigh(std::nullopt, old);
    REQUIRE(second.comparison);
    CHECK(second.comparison->probability_better < kBetterBar);
    REQUIRE(second.objections.size() == 1);
    CHECK(second.objections[0].find("better than the setting in force") != std::string::npos);
  }
  SECTION("clearly better than what is in force") {
    SettingsRow old =
        adopted_row(graded_shop.weigh(std::nullopt, std::nullopt), "Ann", "", kNow, "0.1.0").row;
    old.setting = {30, 60, 300, 100, "stucki", 1};  // a third of the dose that is needed
    const auto second = graded_shop.weigh(std::nullopt, old);
    REQUIRE(second.comparison);
    CHECK(second.objections.empty());
    CHECK(second.comparison->probability_better > 0.95);
    CHECK(second.comparison->gain > 0.3);
    CHECK(second.comparison->gain_low <= second.comparison->gain);
    CHECK(second.comparison->gain_high >= second.comparison->gain);
  }
  SECTION("the setting in force itself: its evidence is renewed, nothing is compared") {
    const SettingsRow old =
        adopted_row(graded_shop.weigh(std::nullopt, std::nullopt), "Ann", "", kNow, "0.1.0").row;
    const auto again = graded_shop.weigh(std::nullopt, old);
    CHECK(again.same_setting);
    CHECK(again.objections.empty());
    CHECK_FALSE(again.comparison);
  }
  SECTION("an unknown glass") {
    CHECK_THROWS_AS(weigh_adoption(graded_shop.shop, graded_shop.evidence, graded_shop.surfaces, "ambr-jug",
                                   "bench", std::nullopt, std::nullopt),
                    errors::UserError);
  }
}

TEST_CASE("a comparison is paired: old against old is a coin on its edge", "[table]") {
  const GradedShop graded_shop;
  const auto& surface = graded_shop.surfaces.glass(surface::surface_name("amber-jug", "bench"));
  const auto at =
      surface::physical_setting({45, 45, 300, 100, "stucki", 1}, graded_shop.shop.machines.front());
  const Comparison same = compare(surface, at, at);
  CHECK(same.gain == 0);
  CHECK(same.gain_low == 0);
  CHECK(same.gain_high == 0);
  CHECK(same.probability_better == 0.5);
}

TEST_CASE("settled needs chance, a narrow interval, swatches and bottles, all four", "[table]") {
  const shop::Acceptance bar;  // target 0.90
  choice::Decision good;
  good.chance = 0.95;
  good.chance_low = 0.76;
  CHECK(status_of(good, 24, 2, bar) == Status::settled);
  CHECK(status_of(good, 23, 2, bar) == Status::provisional);
  CHECK(status_of(good, 24, 1, bar) == Status::provisional);
  good.chance_low = 0.74;
  CHECK(status_of(good, 24, 2, bar) == Status::provisional);
  good.chance_low = 0.80;
  good.chance = 0.89;
  CHECK(status_of(good, 24, 2, bar) == Status::provisional);
}
