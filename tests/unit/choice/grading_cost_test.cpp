#include "choice/grading_cost.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "numerics/random_engine.hpp"
#include "surface/shop_surface.hpp"

using namespace frostcal;
using surface::Observation;

namespace {

const surface::CoordinateCentre kCentre{25.0, 380.0, 25.4 / 350};

struct TwoGraders {
  std::vector<Observation> observations;
  std::vector<grades::GraderAgreement> agreements;
};

// Swatches that scatter by `burn_sd` about a smooth surface, each graded by two people who scatter by
// `grader_sd` about what is there, the second with a bias. Away from the ends of the scale.
TwoGraders two_graders(double burn_sd, double grader_sd, double bias) {
  constexpr int kSwatches = 150;
  numerics::RandomEngine random(17);
  TwoGraders made;
  grades::GradedSwatches graded;
  for (int i = 0; i < kSwatches; ++i) {
    design::Swatch swatch;
    swatch.id = "A" + std::to_string(i + 1);
    graded.grid.swatches.push_back(swatch);
    Observation o;
    o.glass = "jug";
    o.bottle = "b" + std::to_string(i % 3);
    o.burn = "burn" + std::to_string(i % 2);
    o.swatch = swatch.id;
    o.setting = {std::exp(std::log(12.0) + random.uniform()), std::exp(std::log(200.0) + random.uniform()),
                 25.4 / 300, 1, 1};
    const surface::Coordinates u = surface::coordinates(o.setting, kCentre);
    const double there = 2.6 + 0.3 * u(0) + burn_sd * random.normal();
    for (const bool second : {false, true}) {
      o.grader = second ? "Bo" : "Ann";
      o.frost = static_cast<int>(
          std::lround(std::clamp(there + grader_sd * random.normal() + (second ? bias : 0), 0.0, 5.0)));
      o.chipping = 0;
      made.observations.push_back(o);
      graded.grades.push_back({swatch.id, o.grader, o.frost.lowest, 0, "", "2026-11-25T11:14:05Z"});
    }
  }
  made.agreements = grades::agreement_between_graders({graded});
  return made;
}

choice::GradingCost cost_of(const TwoGraders& made) {
  surface::FitOptions options;
  options.centre = kCentre;
  const auto cost = choice::grading_cost(
      made.agreements, surface::fit_shop(made.observations, options).glass("jug"), made.observations);
  REQUIRE(cost);
  return *cost;
}

}  // namespace

// Each grade's scatter is burn + grader + rounding (1/12 of a grade squared); rounding is the grader's too.
TEST_CASE("the graders' share of the scatter is about what was put in", "[choice][grading_cost]") {
  const choice::GradingCost even = cost_of(two_graders(0.6, 0.6, 0));
  CHECK(even.grades == 300);
  CHECK(std::abs(even.share - (0.36 + 1.0 / 12) / (0.72 + 1.0 / 12)) < 0.17);  // 0.55; says 0.42
  CHECK(std::abs(even.worth - 300 * (1 - even.share)) < 1e-9);
  const choice::GradingCost steady = cost_of(two_graders(0.8, 0.15, 0));
  CHECK(steady.share < 0.25);
  CHECK(steady.worth > 225);
}

TEST_CASE("a grader who is always stricter costs little; too few pairs say nothing",
          "[choice][grading_cost]") {
  const TwoGraders biased = two_graders(0.8, 0.15, -0.7);
  CHECK(biased.agreements.at(0).frost_difference < -0.5);
  CHECK(cost_of(biased).share < 0.3);
  TwoGraders few = two_graders(0.6, 0.6, 0);
  few.agreements.at(0).frost.pairs = 7;
  surface::FitOptions options;
  options.centre = kCentre;
  CHECK_FALSE(choice::grading_cost(few.agreements, surface::fit_shop(few.observations, options).glass("jug"),
                                   few.observations));
}
