// Leave-one-out predictions against fits that really leave the grade out.
#include "surface/grade_residuals.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numeric>

#include "numerics/random_engine.hpp"
#include "surface/shop_surface.hpp"

using namespace frostcal::surface;

namespace {

const CoordinateCentre kCentre{25.0, 380.0, 25.4 / 350};

/// Each on a bottle of its own and graded by somebody else, so that a swatch left out is one on a new bottle.
std::vector<Observation> graded_grid(int n) {
  frostcal::numerics::RandomEngine random(21);
  std::vector<Observation> out;
  for (int i = 0; i < n; ++i) {
    Observation o;
    o.glass = "jug";
    o.swatch = "A" + std::to_string(i + 1);
    o.bottle = o.burn = o.grader = o.swatch;
    o.setting = {std::exp(std::log(6.0) + random.uniform() * 2.4),
                 std::exp(std::log(110.0) + random.uniform() * 2.2), 25.4 / (250 + 50 * (i % 4)), 1, 1};
    const Coordinates u = coordinates(o.setting, kCentre);
    const double frost = 4.0 - 0.7 * u(0) * u(0) - 0.2 * u(1) * u(1) + 0.5 * random.normal();
    o.frost = static_cast<int>(std::lround(std::clamp(frost, 0.0, 5.0)));
    o.chipping = static_cast<int>(std::lround(std::clamp(0.8 + u(0) + 0.5 * random.normal(), 0.0, 3.0)));
    out.push_back(o);
  }
  return out;
}

}  // namespace

// The settings of the prior's scales are weighed anew for each grade, but those dropped as too light are not
// there to come back: a grade that alone decided between them is predicted less exactly.
TEST_CASE("the cavity predicts a grade as a fit without it does", "[surface][residuals]") {
  const std::vector<Observation> all = graded_grid(24);
  FitOptions options;
  options.centre = kCentre;
  for (const Link link : {Link::probit, Link::logit}) {
    options.link = link;
    const ShopSurface shop = fit_shop(all, options);
    double total = 0;
    double worst = 0;
    int count = 0;
    for (const Response response : {Response::frost, Response::chipping}) {
      const std::vector<GradeResidual> quick = grade_residuals(shop.glass("jug"), response, all);
      REQUIRE(quick.size() == all.size());
      for (std::size_t i = 0; i < all.size(); ++i) {
        std::vector<Observation> rest = all;
        rest.erase(rest.begin() + static_cast<std::ptrdiff_t>(i));
        const ShopSurface without = fit_shop(rest, options);
        const GradeProbabilities slow = without.glass("jug").grade_probabilities(all[i].setting);
        const double* const p = response == Response::frost ? slow.frost.data() : slow.chipping.data();
        const double lower = std::accumulate(p, p + grade_of(all[i], response), 0.0);
        for (const double gap :
             {quick[i].lower - lower, quick[i].upper - (lower + p[grade_of(all[i], response)])}) {
          total += std::fabs(gap);
          worst = std::max(worst, std::fabs(gap));
          ++count;
        }
      }
    }
    INFO("mean " << total / count << ", worst " << worst);
    CHECK(total / count < 0.01);
    CHECK(worst < 0.2);
  }
}
