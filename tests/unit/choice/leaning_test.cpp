#include "choice/leaning.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "numerics/random_engine.hpp"
#include "shop/shop_file.hpp"
#include "surface/physical_setting.hpp"

using namespace frostcal;
using Catch::Matchers::WithinAbs;
using choice::Leaning;

namespace {

struct GradedShop {
  GradedShop() { shop = shop::parse_shop(shop::shop_template(), "shop.toml"); }

  /// `count` swatches with doses about `factor` times those of `settings()`; turned: frost falls with dose.
  void grade(const std::string& glass, int count, double factor, bool turned = false) {
    numerics::RandomEngine random(40 + evidence.observations.size());
    for (int i = 0; i < count; ++i) {
      surface::Observation seen;
      seen.glass = surface::surface_name(glass, machine().name);
      seen.bottle = glass + (i % 2 == 0 ? "-1" : "-2");
      seen.burn = seen.bottle + "/1";
      seen.grader = "A";
      seen.swatch = glass + ' ' + std::to_string(i);
      const double power = std::min(100.0, factor * (25 + 20 * random.uniform()));
      seen.setting =
          surface::physical_setting({power, 30 + 20 * random.uniform(), 300, 100, "stucki", 1}, machine());
      const double dose = std::log(seen.setting.power_w / seen.setting.speed_mm_s / seen.setting.pitch_mm);
      const auto grade = [&](double value, int most) {
        return std::clamp(static_cast<int>(std::lround(value + 0.3 * random.normal())), 0, most);
      };
      seen.frost = grade(3.5 + (turned ? -2.5 : 2.5) * dose, 5);
      seen.chipping = grade(0.4 + 0.6 * dose, 3);
      evidence.observations.push_back(seen);
    }
  }

  Leaning leaning(const std::string& glass) const {
    const surface::ShopSurface surfaces =
        surface::fit_shop(evidence.observations, surface::shop_fit_options(shop));
    return choice::leaning_on_others(shop, evidence, surfaces, surface::surface_name(glass, machine().name),
                                     machine(), settings());
  }

  const shop::Machine& machine() const { return shop.machines.front(); }
  static std::vector<shop::Setting> settings() {
    return {{30, 40, 300, 100, "stucki", 1}, {40, 40, 300, 100, "stucki", 1}};
  }

  shop::Shop shop;
  surface::ShopEvidence evidence;
};

double share_of(const Leaning& leaning, const std::string& glass) {
  for (const choice::LeanedOn& one : leaning.glasses) {
    if (one.glass == glass) return one.share;
  }
  return -1;
}

double sum_of(const Leaning& leaning) {
  double sum = 0;
  for (const choice::LeanedOn& one : leaning.glasses) sum += one.share;
  return sum;
}

}  // namespace

TEST_CASE("alone in its shop a glass leans on nobody", "[choice][leaning]") {
  GradedShop shop;
  CHECK(shop.leaning("amber").glasses.empty());
  shop.grade("amber", 12, 1);
  CHECK(shop.leaning("amber").glasses.empty());
  CHECK(shop.leaning("amber").others == 0);
}

TEST_CASE("an ungraded glass leans on the others alone, most on what was burned near by",
          "[choice][leaning]") {
  GradedShop shop;
  shop.grade("near", 12, 1);
  shop.grade("far", 12, 0.15);
  shop.grade("few", 3, 1);
  const Leaning leaning = shop.leaning("amber");
  REQUIRE(leaning.glasses.size() == 3);
  CHECK_THAT(leaning.others, WithinAbs(1, 1e-12));
  CHECK_THAT(sum_of(leaning), WithinAbs(1, 1e-12));
  CHECK(leaning.glasses.front().glass == "near");
  CHECK(leaning.glasses.front().machine == shop.machine().name);
  CHECK(share_of(leaning, "near") > 1.5 * share_of(leaning, "far"));
  CHECK(share_of(leaning, "near") > 1.5 * share_of(leaning, "few"));
  CHECK(share_of(leaning, "far") > 0);
}

TEST_CASE("a glass graded here leans less on others than one graded elsewhere", "[choice][leaning]") {
  GradedShop elsewhere;
  elsewhere.grade("clear", 24, 1);
  elsewhere.grade("amber", 6, 0.15);
  GradedShop here;
  here.grade("clear", 24, 1);
  here.grade("amber", 40, 1);
  const Leaning far = elsewhere.leaning("amber");
  const Leaning near = here.leaning("amber");
  CHECK(far.others > 0.3);
  CHECK(far.others < 1);
  CHECK(near.others < 0.3);
  CHECK_THAT(sum_of(far), WithinAbs(far.others, 1e-12));
}

TEST_CASE("a glass that contradicts the others leans on them less", "[choice][leaning]") {
  GradedShop alike;
  alike.grade("clear", 24, 1);
  alike.grade("amber", 6, 0.5);
  GradedShop odd;
  odd.grade("clear", 24, 1, true);
  odd.grade("amber", 6, 0.5);
  CHECK(alike.leaning("amber").others > 0.1);
  CHECK(odd.leaning("amber").others < alike.leaning("amber").others - 0.05);
}
