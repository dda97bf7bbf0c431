#include "choice/glass_likeness.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "choice/glass_choice.hpp"
#include "numerics/random_engine.hpp"
#include "support/sample_shop.hpp"
#include "surface/physical_setting.hpp"

using namespace frostcal;

namespace {

/// 48 swatches of a made-up glass whose best dose lies `shift` (in ln dose) from where the first has it.
void burn(std::vector<surface::Observation>& all, const shop::Machine& machine, const std::string& glass,
          double shift, std::uint64_t seed) {
  numerics::RandomEngine random(seed);
  for (int i = 0; i < 48; ++i) {
    shop::Setting setting;
    setting.power_pct = std::round(8 * std::exp(random.uniform() * 2.4));
    setting.speed_pct = std::round(8 * std::exp(random.uniform() * 2.4));
    setting.dpi = machine.dpi[random.below(machine.dpi.size())];
    setting.screen = machine.screens.front();
    surface::Observation o;
    o.glass = surface::surface_name(glass, machine.name);
    o.bottle = glass + std::to_string(i % 4);
    o.burn = glass + std::to_string(i % 5);
    o.grader = "Wen";
    o.swatch = glass + std::to_string(i);
    o.setting = surface::physical_setting(setting, machine);
    const double dose = std::log(o.setting.power_w / o.setting.speed_mm_s / o.setting.pitch_mm) - shift;
    const double frost = 5.4 - 1.6 * dose * dose + 0.25 * random.normal();
    const double chipping = 2 * (dose - 1.2) + 0.25 * random.normal();
    o.frost = static_cast<int>(std::lround(std::clamp(frost, 0.0, 5.0)));
    o.chipping = static_cast<int>(std::lround(std::clamp(chipping, 0.0, 3.0)));
    all.push_back(o);
  }
}

}  // namespace

TEST_CASE("two glasses of one kind are said to be alike, one that wants another dose is not", "[choice]") {
  const test::SampleShop sample;
  const shop::Shop& shop = sample.shop();
  const shop::Machine& machine = shop.machines.front();
  surface::ShopEvidence evidence;
  burn(evidence.observations, machine, "clear-cruet", 0, 1);
  burn(evidence.observations, machine, "other-cruet", 0, 2);
  burn(evidence.observations, machine, "thick-jug", 1.6, 3);
  const surface::ShopSurface surfaces =
      surface::fit_shop(evidence.observations, surface::shop_fit_options(shop));
  std::vector<choice::GlassChoice> choices;
  for (const char* glass : {"clear-cruet", "other-cruet", "thick-jug"}) {
    choices.push_back(choice::choose_setting(shop, evidence, surfaces, glass, machine.name, {}));
  }
  const std::vector<choice::GlassLikeness> alike = choice::find_alike(shop, surfaces, choices);
  REQUIRE(alike.size() == 1);
  CHECK(alike[0].first == "clear-cruet");
  CHECK(alike[0].second == "other-cruet");
  CHECK(alike[0].first_loss < choice::kAlikeLoss);
  choices[1].swatches = choice::kAlikeSwatches - 1;
  CHECK(choice::find_alike(shop, surfaces, choices).empty());
}
