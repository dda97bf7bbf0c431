#include "surface/diagnostics.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numeric>

#include "numerics/random_engine.hpp"
#include "surface/shop_surface.hpp"

using namespace frostcal::surface;

namespace {

const CoordinateCentre kCentre{25.0, 380.0, 25.4 / 350};

struct Faults {
  double bottle = 0;   // added to frost on bottle "b2"
  double along_x = 0;  // frost grades per 100 mm
  double shared = 0;   // sd of a disturbance of both responses
};

std::vector<Observation> grid(int n, std::uint64_t seed, const Faults& faults) {
  frostcal::numerics::RandomEngine random(seed);
  std::vector<Observation> out;
  for (int i = 0; i < n; ++i) {
    Observation o;
    o.glass = "jug";
    o.bottle = i % 3 == 1 ? "b2" : i % 3 == 0 ? "b1" : "b3";
    o.burn = "burn" + std::to_string(i % 2);
    o.grader = "Wen";
    o.swatch = "A" + std::to_string(i + 1);
    o.x_mm = 100 * random.uniform() - 50;
    o.y_mm = 100 * random.uniform() - 50;
    o.setting = {std::exp(std::log(6.0) + random.uniform() * 2.4),
                 std::exp(std::log(110.0) + random.uniform() * 2.2), 25.4 / (250 + 50 * (i % 4)), 1, 1};
    const Coordinates u = coordinates(o.setting, kCentre);
    const double both = faults.shared * random.normal();
    const double frost = 4.3 - 0.6 * u(0) * u(0) - 0.2 * u(1) * u(1) + 0.35 * random.normal() + both +
                         (o.bottle == "b2" ? faults.bottle : 0) + faults.along_x * o.x_mm / 100;
    const double chipping = 1.0 + 1.1 * u(0) + 0.35 * random.normal() + both;
    o.frost = static_cast<int>(std::lround(std::clamp(frost, 0.0, 5.0)));
    o.chipping = static_cast<int>(std::lround(std::clamp(chipping, 0.0, 3.0)));
    out.push_back(o);
  }
  return out;
}

std::vector<Finding> findings_of(const std::vector<Observation>& observations) {
  FitOptions options;
  options.centre = kCentre;
  return diagnose(fit_shop(observations, options).glass("jug"), observations);
}

int count(const std::vector<Finding>& findings, FindingKind kind) {
  return static_cast<int>(
      std::count_if(findings.begin(), findings.end(), [&](const Finding& f) { return f.kind == kind; }));
}

}  // namespace

TEST_CASE("clean grades raise few findings", "[surface]") {
  int total = 0;
  for (std::uint64_t seed = 1; seed <= 10; ++seed)
    total += static_cast<int>(findings_of(grid(48, seed, {})).size());
  CHECK(total < 10);  // fewer than one a grid; some 20 tests at 0.01 each are made of every grid
}

TEST_CASE("a miswritten grade is named with its swatch", "[surface]") {
  std::vector<Observation> observations = grid(48, 1, {});
  const auto best =
      std::max_element(observations.begin(), observations.end(), [](const auto& a, const auto& b) {
        return std::fabs(coordinates(a.setting, kCentre)(0)) > std::fabs(coordinates(b.setting, kCentre)(0));
      });
  best->frost = 0;
  const std::vector<Finding> findings = findings_of(observations);
  REQUIRE(count(findings, FindingKind::swatch_disagrees) >= 1);
  CHECK(findings[0].swatches == std::vector<std::string>{best->swatch});
  CHECK(findings[0].response == Response::frost);
  CHECK(findings[0].size < -2);
}

TEST_CASE("a bottle that differs is named, with its swatches", "[surface]") {
  const std::vector<Finding> findings = findings_of(grid(60, 2, {-2.0, 0, 0}));
  const auto bottle = std::find_if(findings.begin(), findings.end(),
                                   [](const Finding& f) { return f.kind == FindingKind::bottle_differs; });
  REQUIRE(bottle != findings.end());
  CHECK(bottle->response == Response::frost);
  CHECK(bottle->swatches.size() == 20);
}

TEST_CASE("a trend along the bottle is found, with its direction", "[surface]") {
  const std::vector<Finding> findings = findings_of(grid(60, 3, {0, 3.0, 0}));
  const auto trend = std::find_if(findings.begin(), findings.end(),
                                  [](const Finding& f) { return f.kind == FindingKind::position_trend; });
  REQUIRE(trend != findings.end());
  CHECK(trend->subject == "x");
  CHECK(trend->size > 0.3);
}

TEST_CASE("responses that share a disturbance are found to be associated", "[surface]") {
  const std::vector<Finding> findings = findings_of(grid(90, 4, {0, 0, 0.9}));
  REQUIRE(count(findings, FindingKind::responses_associated) == 1);
}

TEST_CASE("grades that the surface does not explain are told", "[surface]") {
  int told = 0;
  int everywhere = 0;
  for (std::uint64_t seed = 1; seed <= 6; ++seed) {
    std::vector<Observation> blind = grid(48, seed, {});
    frostcal::numerics::RandomEngine random(seed + 50);
    for (Observation& o : blind) {
      if (random.uniform() < 0.4) o.frost = static_cast<int>(random.below(6));
    }
    for (const Finding& f : findings_of(blind)) {
      if (f.kind != FindingKind::lack_of_fit || f.response != Response::frost) continue;
      ++told;
      if (f.subject == "all") ++everywhere;
    }
  }
  CHECK(told >= 5);
  CHECK(everywhere >= 4);
}

TEST_CASE("grades that contradict one another in one corner are told with their swatches", "[surface]") {
  std::vector<Observation> observations = grid(60, 3, {});
  std::vector<std::size_t> order(observations.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return observations[a].setting.power_w * observations[a].setting.speed_mm_s <
           observations[b].setting.power_w * observations[b].setting.speed_mm_s;
  });
  std::vector<std::string> corner;
  for (std::size_t k = 0; k < 12; ++k) {
    observations[order[k]].frost = k % 2 == 0 ? 0 : 5;
    corner.push_back(observations[order[k]].swatch);
  }
  const std::vector<Finding> findings = findings_of(observations);
  const auto found = std::find_if(findings.begin(), findings.end(),
                                  [](const Finding& f) { return f.kind == FindingKind::lack_of_fit; });
  REQUIRE(found != findings.end());
  CHECK(found->response == Response::frost);
  if (found->subject == "near") {
    CHECK(std::count_if(found->swatches.begin(), found->swatches.end(), [&](const std::string& name) {
            return std::find(corner.begin(), corner.end(), name) != corner.end();
          }) >= 6);
  }
}

TEST_CASE("diagnostics of a glass without grades are empty", "[surface]") {
  FitOptions options;
  options.centre = kCentre;
  CHECK(diagnose(fit_shop({}, options).glass("jug"), {}).empty());
}
