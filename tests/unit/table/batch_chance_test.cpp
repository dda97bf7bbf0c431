#include "table/batch_chance.hpp"

#include <Eigen/Cholesky>
#include <catch2/catch.hpp>
#include <cmath>

#include "numerics/normal_tail.hpp"
#include "numerics/random_engine.hpp"
#include "shop/shop_file.hpp"
#include "surface/physical_setting.hpp"

using namespace frostcal;
using namespace frostcal::table;
using Catch::Matchers::WithinAbs;
using surface::ContrastComponent;
using surface::GlassSurface;
using surface::PhysicalSetting;
using surface::Response;

namespace {

constexpr int kDays = 64;

// Few swatches round a good setting: the chance is high and poorly known.
GlassSurface little_known_glass(const shop::Shop& shop) {
  numerics::RandomEngine random(5);
  std::vector<surface::Observation> seen;
  for (const double power : {40.0, 50.0, 62.0, 78.0}) {
    for (const double speed : {30.0, 40.0, 55.0}) {
      const shop::Setting setting{power, speed, 300, 100, "stucki", 1};
      const double dose = std::log(shop::dose_j_mm2(setting, shop.machines.front()) / 0.9);
      surface::Observation one;
      one.glass = surface::surface_name("amber-jug", "bench");
      one.bottle = "amber-jug-" + std::to_string(seen.size() % 2);
      one.burn = one.bottle;
      one.grader = "Ann";
      one.setting = surface::physical_setting(setting, shop.machines.front());
      one.frost = std::fabs(dose) < 0.6 ? 5 : 3;
      one.chipping = dose > 0.8 ? 1 : 0;
      seen.push_back(one);
    }
  }
  surface::FitOptions options = surface::shop_fit_options(shop);
  options.draws = 4000;
  return surface::fit_shop(seen, options).glass(surface::surface_name("amber-jug", "bench"));
}

// The first of a row of ever weaker settings that is neither safe nor hopeless.
PhysicalSetting doubtful_setting(const GlassSurface& surface, const shop::Machine& machine) {
  for (double power = 55; power > 20; power -= 1) {
    const PhysicalSetting at = surface::physical_setting({power, 40, 300, 100, "stucki", 1}, machine);
    if (surface.chance(at).chance < 0.9) return at;
  }
  FAIL("every setting is safe");
  return {};
}

// One response of one glass drawn anew for each batch, straight from the posterior's Gaussians: without
// GlassSurface's own draws, and with every bottle, burn, look and day drawn instead of integrated.
class DrawnResponse {
 public:
  DrawnResponse(const GlassSurface& surface, Response response, const PhysicalSetting& setting)
      : components_(surface.contrasts(response)) {
    std::vector<PhysicalSetting> on_days;
    for (int day = 0; day < kDays; ++day) {
      PhysicalSetting one = setting;
      one.power_w *= std::exp(surface::kDaySd * numerics::normal_quantile((day + 0.5) / kDays));
      on_days.push_back(one);
    }
    for (const ContrastComponent& c : components_) {
      features_.push_back(surface.contrast_features(c, on_days));
      Eigen::MatrixXd covariance = c.covariance;
      covariance.diagonal().array() += 1e-10;
      roots_.push_back(Eigen::LLT<Eigen::MatrixXd>(covariance).matrixL());
    }
  }

  void begin_batch(int day, numerics::RandomEngine& random) {
    double left = random.uniform();
    at_ = 0;
    while (at_ + 1 < components_.size() && left > components_[at_].weight) left -= components_[at_++].weight;
    Eigen::VectorXd z(roots_[at_].rows());
    for (Eigen::Index k = 0; k < z.size(); ++k) z(k) = random.normal();
    const Eigen::VectorXd beta = components_[at_].mean + roots_[at_] * z;
    latent_ = features_[at_].row(day).dot(beta) + surface::kGraderSd * random.normal();
  }

  bool good_bottle(numerics::RandomEngine& random) const {
    const double own = components_[at_].bottle_sd * random.normal() + surface::kBurnSd * random.normal();
    return latent_ + own + components_[at_].noise * random.normal() > 0;
  }

 private:
  std::vector<ContrastComponent> components_;
  std::vector<Eigen::MatrixXd> features_;
  std::vector<Eigen::MatrixXd> roots_;
  std::size_t at_ = 0;
  double latent_ = 0;
};

}  // namespace

TEST_CASE("a batch of a belief of two values, by hand", "[table][batch]") {
  const DrawnChance belief{Eigen::Vector2d(0.5, 1), Eigen::Vector2d(0.5, 0.5)};
  CHECK(belief.mean() == 0.75);
  CHECK_THAT(no_reject_chance(3, belief), WithinAbs(0.5625, 1e-12));  // (1/8 + 1) / 2; the mean's power: 0.42
  CHECK(bottles_needed(1, belief, 0.9) == 3);  // 1 - 0.5^m / 2 = 0.875 for 2, 0.94 for 3
  // P(at least 2 of m) = 1 - (m + 1) / 2^(m + 1): 0.84 for 4, 0.906 for 5.
  CHECK(bottles_needed(2, belief, 0.9) == 5);
  CHECK(bottles_needed(2, DrawnChance{Eigen::Vector2d(0, 1e-4), Eigen::Vector2d(0.5, 0.5)}, 0.9) == 0);
  CHECK(bottles_needed(7, DrawnChance{Eigen::Vector2d(1, 1), Eigen::Vector2d(0.5, 0.5)}, 0.9) == 7);
}

// 20,000 batches: standard error under 0.0036; 4,000 draws of the surface: under 0.008.
TEST_CASE("a batch's chance agrees with batches burned one by one", "[table][batch][simulation]") {
  const shop::Shop shop = shop::parse_shop(shop::shop_template(), "shop.toml");
  const GlassSurface surface = little_known_glass(shop);
  const PhysicalSetting setting = doubtful_setting(surface, shop.machines.front());
  const DrawnChance belief = drawn_batch(surface, {setting});
  CHECK_THAT(belief.weight.sum(), WithinAbs(1, 1e-9));
  CHECK_THAT(belief.mean(), WithinAbs(surface.chance(setting).chance, 0.02));  // the day costs a little
  constexpr int kPieces = 12;
  const int bottles = bottles_needed(kPieces, belief, 0.9);
  REQUIRE(bottles > kPieces);

  DrawnResponse frost(surface, Response::frost, setting);
  DrawnResponse chipping(surface, Response::chipping, setting);
  numerics::RandomEngine random(21);
  constexpr int kBatches = 20000;
  int no_reject = 0;
  int enough = 0;
  int enough_of_fewer = 0;
  for (int batch = 0; batch < kBatches; ++batch) {
    const int day = static_cast<int>(random.below(kDays));
    frost.begin_batch(day, random);
    chipping.begin_batch(day, random);
    int good = 0;
    for (int bottle = 1; bottle <= bottles; ++bottle) {
      const bool frosted = frost.good_bottle(random);
      good += chipping.good_bottle(random) && frosted ? 1 : 0;
      if (bottle == kPieces) no_reject += good == kPieces ? 1 : 0;
      if (bottle == bottles - 1) enough_of_fewer += good >= kPieces ? 1 : 0;
    }
    enough += good >= kPieces ? 1 : 0;
  }
  const double simulated = static_cast<double>(no_reject) / kBatches;
  const double told = no_reject_chance(kPieces, belief);
  CAPTURE(simulated, told, belief.mean(), bottles, enough, enough_of_fewer);
  CHECK_THAT(told, WithinAbs(simulated, 0.03));
  CHECK(std::pow(belief.mean(), kPieces) < simulated - 0.1);  // the mean's power is another thing
  CHECK(enough > 0.88 * kBatches);
  CHECK(enough_of_fewer < 0.92 * kBatches);
}
