#include <catch2/catch.hpp>

#include "shop/shop_file.hpp"
#include "surface/physical_setting.hpp"
#include "surface/shop_observations.hpp"
#include "surface/shop_surface.hpp"

using namespace frostcal;
using namespace frostcal::surface;

namespace {

grades::PieceRow piece(int line, std::optional<GradeRange> frost, std::optional<GradeRange> chipping) {
  grades::PieceRow row;
  row.glass = "amber-jug";
  row.machine = "bench";
  row.setting = {50, 40, 300, 100, "stucki", 1};
  row.frost = frost;
  row.chipping = chipping;
  row.by = "Ann";
  row.logged_at = "2026-11-25T11:14:05Z";
  row.line = line;
  return row;
}

}  // namespace

TEST_CASE("each logged piece is a swatch on a bottle and in a burn of its own", "[surface]") {
  const shop::Shop shop = shop::parse_shop(shop::shop_template(), "shop.toml");
  std::vector<grades::PieceRow> pieces{piece(2, 4, 0), piece(3, std::nullopt, 2),
                                       piece(4, std::nullopt, std::nullopt), piece(5, 5, 0), piece(6, 5, 0)};
  pieces[3].glass = "sold-long-ago";
  pieces[4].machine = "scrapped";
  const std::vector<Observation> seen = observations_of(shop, pieces);
  REQUIRE(seen.size() == 2);
  CHECK(seen[0].glass == "amber-jug@bench");
  CHECK(seen[0].bottle != seen[1].bottle);
  CHECK(seen[0].burn != seen[1].burn);
  CHECK(seen[0].swatch == "pieces.csv line 2");
  CHECK(seen[0].day == "2026-11-25");
  CHECK(seen[0].grader == "Ann");
  CHECK(seen[0].setting.power_w == 30);
  CHECK(seen[0].setting.speed_mm_s == 480);
  CHECK(seen[0].frost == 4);
  CHECK(seen[1].frost == kNotGraded);
  CHECK(seen[1].chipping == 2);
}

TEST_CASE("of many pieces the latest count", "[surface]") {
  const shop::Shop shop = shop::parse_shop(shop::shop_template(), "shop.toml");
  std::vector<grades::PieceRow> pieces;
  for (int line = 2; line < 2 + 3 * kMostPieces; ++line) pieces.push_back(piece(line, 4, 0));
  const std::vector<Observation> seen = observations_of(shop, pieces);
  REQUIRE(seen.size() == static_cast<std::size_t>(kMostPieces));
  CHECK(seen.back().swatch == "pieces.csv line " + std::to_string(1 + 3 * kMostPieces));
}

TEST_CASE("rejected pieces lower the chance at their setting, good ones raise it", "[surface]") {
  const shop::Shop shop = shop::parse_shop(shop::shop_template(), "shop.toml");
  const PhysicalSetting at = physical_setting(piece(2, 4, 0).setting, shop.machines.front());
  const auto chance_after = [&](GradeRange frost, int chipping) {
    std::vector<grades::PieceRow> pieces;
    for (int line = 2; line < 12; ++line) pieces.push_back(piece(line, frost, chipping));
    const auto surfaces = fit_shop(observations_of(shop, pieces), shop_fit_options(shop));
    return surfaces.glass("amber-jug@bench").chance(at).chance;
  };
  const double before = fit_shop({}, shop_fit_options(shop)).glass("amber-jug@bench").chance(at).chance;
  CHECK(chance_after(5, 0) > before + 0.2);
  CHECK(chance_after({4, 5}, 0) > before + 0.2);
  CHECK(chance_after(2, 0) < before - 0.05);
  CHECK(chance_after(5, 2) < before - 0.05);
}

TEST_CASE("a piece that is only called good does not pull a frost 5 down to the bar", "[surface]") {
  const shop::Shop shop = shop::parse_shop(shop::shop_template(), "shop.toml");
  const PhysicalSetting at = physical_setting(piece(2, 4, 0).setting, shop.machines.front());
  const auto fitted_after = [&](int more, GradeRange frost) {
    std::vector<grades::PieceRow> pieces;
    for (int line = 2; line < 8; ++line) pieces.push_back(piece(line, 5, 0));
    for (int line = 8; line < 8 + more; ++line) pieces.push_back(piece(line, frost, GradeRange(0, 1)));
    return fit_shop(observations_of(shop, pieces), shop_fit_options(shop)).glass("amber-jug@bench");
  };
  const auto mean_frost = [&](const GlassSurface& glass) {
    const GradeProbabilities p = glass.grade_probabilities(at);
    double mean = 0;
    for (std::size_t j = 0; j < p.frost.size(); ++j) mean += static_cast<double>(j) * p.frost[j];
    return mean;
  };
  const GlassSurface before = fitted_after(0, 5);
  const GlassSurface called_good = fitted_after(10, {4, 5});
  const GlassSurface graded_4 = fitted_after(10, 4);
  CHECK(mean_frost(called_good) > mean_frost(before) - 0.02);
  CHECK(mean_frost(graded_4) < mean_frost(before) - 0.2);
  CHECK(called_good.chance_parts(at).frost > before.chance_parts(at).frost);
  CHECK(called_good.chance_parts(at).frost > graded_4.chance_parts(at).frost);
}

TEST_CASE("a range that holds every grade says nothing", "[surface]") {
  const shop::Shop shop = shop::parse_shop(shop::shop_template(), "shop.toml");
  const PhysicalSetting at = physical_setting(piece(2, 4, 0).setting, shop.machines.front());
  const auto chance_with = [&](std::optional<GradeRange> frost) {
    const std::vector<grades::PieceRow> pieces{piece(2, 5, 0), piece(3, frost, 0)};
    return fit_shop(observations_of(shop, pieces), shop_fit_options(shop))
        .glass("amber-jug@bench")
        .chance_parts(at)
        .frost;
  };
  CHECK(chance_with(GradeRange(0, 5)) == chance_with(std::nullopt));
}
