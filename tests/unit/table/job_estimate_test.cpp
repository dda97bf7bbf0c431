#include "table/job_estimate.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "shop/shop_file.hpp"
#include "unit/table/sample_row.hpp"

using namespace frostcal;
using namespace frostcal::table;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace {

struct Bench {
  shop::Shop shop = shop::parse_shop(shop::shop_template(), "shop.toml");
  const shop::Machine& machine = shop.machines.front();
  const shop::Vessel& vessel = shop.vessels.front();  // 88 mm wide, 95 mm panel, 2 seams
  SettingsRow row = test::sample_row().row;           // 300 dpi, 40 % of 1200 mm/s
  JobEstimate job(double width, double height, int pieces = 1) const {
    return estimate_job(row, machine, vessel, {width, height}, pieces);
  }
};

}  // namespace

TEST_CASE("worked trade examples: three inches are 900 lines at 300 dpi; dpi and tone scale the dose",
          "[table]") {
  // Common practice, no source; the figures follow from the definitions.
  Bench bench;
  CHECK(bench.job(76.2, 50).lines == 900);
  CHECK(bench.job(3 * 25.4, 50).lines == 900);
  bench.row.setting.dpi = 500;
  const double dose_500 = bench.job(76.2, 50).dose_j_mm2;
  bench.row.setting.dpi = 300;
  const double dose_300 = bench.job(76.2, 50).dose_j_mm2;
  bench.row.setting.tone_pct = 60;
  const double dose_tone = bench.job(76.2, 50).dose_j_mm2;
  CHECK_THAT(dose_300 / dose_500, WithinRel(0.6, 1e-12));
  CHECK_THAT(dose_tone / dose_500, WithinRel(0.36, 1e-12));
}

TEST_CASE("time, angle and pieces per hour, by hand", "[table]") {
  const Bench bench;
  const JobEstimate job = bench.job(76.2, 50);
  // 900 lines of 50 mm at 480 mm/s with 0.05 s of turnaround.
  CHECK_THAT(job.burn_seconds, WithinRel(900 * (50.0 / 480 + 0.05), 1e-12));
  CHECK_THAT(job.pieces_per_hour, WithinRel(3600 / (job.burn_seconds + 120), 1e-12));
  // Half the round of an 88 mm bottle is 138.23 mm.
  CHECK_THAT(bench.job(138.2300767579509, 50).round_deg, WithinRel(180.0, 1e-9));
}

TEST_CASE("art that is too high or too wide does not fit; art across a seam is told", "[table]") {
  Bench bench;
  CHECK(bench.job(60, 90).fits);
  CHECK(bench.job(60, 90).warnings.empty());
  const JobEstimate high = bench.job(60, 92);
  CHECK_FALSE(high.fits);
  REQUIRE(high.misfits.size() == 1);
  CHECK(high.misfits[0] ==
        "the art is 92.0 mm high, the panel takes 91.0 mm: 95.0 mm less 2.0 mm kept clear at each end");
  CHECK_FALSE(bench.job(280, 50).fits);
  const JobEstimate across = bench.job(140, 50);  // 132.2 mm lie between the seams
  CHECK(across.fits);
  REQUIRE(across.warnings.size() == 1);
  CHECK(across.warnings[0].find("crosses a mould seam: 132.2 mm") != std::string::npos);

  shop::Vessel taper = bench.vessel;
  taper.diameter_at_neck_mm = 78;
  const JobEstimate tilted = estimate_job(bench.row, bench.machine, taper, {50, 80}, 1);
  REQUIRE(tilted.warnings.size() == 1);  // 5 mm of radius over 95 mm: 2.1 mm at the ends of 80 mm
  CHECK(tilted.warnings[0].find("2.1 mm out of focus") != std::string::npos);
}

TEST_CASE("on a taper the way round is the one under the art, in the shop's units", "[table]") {
  Bench bench;
  bench.shop.vessels[0] = {"taper", 70, 84, 110, 2};
  // 77 mm at the centre; under art 10 mm high the wall is 70 + 14 * 50 / 110 = 76.364 mm at its narrowest.
  CHECK(bench.job(235, 10).fits);  // 219.9 mm at the neck
  CHECK_FALSE(bench.job(236.1, 10).fits);
  // Half of that round less 3 mm at each seam: 113.95 mm; at the neck 103.96 mm.
  CHECK(bench.job(113.9, 10).warnings.empty());
  CHECK(bench.job(114, 10).warnings.size() == 1);
  const JobEstimate wide = estimate_job(bench.row, bench.machine, bench.vessel, {254, 25.4}, 1, 120,
                                        std::nullopt, shop::LengthUnit::inch);
  REQUIRE(wide.misfits.size() == 1);
  // 75.383 mm under 25.4 mm: 236.82 mm round.
  CHECK(
      wide.misfits[0] ==
      "the art is 10.00 in wide, the way round takes 9.17 in: 9.32 in less 0.08 in kept clear on each side");
  const JobEstimate tilted = estimate_job(bench.row, bench.machine, bench.vessel, {50, 80}, 1, 120,
                                          std::nullopt, shop::LengthUnit::inch);
  REQUIRE(tilted.warnings.size() == 1);
  CHECK(tilted.warnings[0].find("0.10 in out of focus") != std::string::npos);
}

TEST_CASE("batches at an exactly known chance: its power, and binomial bottles", "[table]") {
  Bench bench;
  bench.row.chance = 0.9;
  bench.row.chance_low = 0.9;
  bench.row.chance_high = 0.9;
  const JobEstimate job = bench.job(50, 50, 10);
  CHECK_THAT(job.no_reject, WithinRel(0.3486784401, 1e-9));  // 0.9^10
  CHECK_THAT(job.no_reject_low, WithinRel(0.3486784401, 1e-9));
  // P(Binomial(12, 0.9) >= 10) = 0.88913, P(Binomial(13, 0.9) >= 10) = 0.96584: computed apart, by summing
  // the binomial terms.
  CHECK(job.bottles_to_bring == 13);
  constexpr double kExactly = std::numeric_limits<double>::infinity();
  CHECK(bottles_needed(1, {1, kExactly}, 0.9) == 1);
  CHECK(bottles_needed(1, {0.9, kExactly}, 0.9) == 1);
  CHECK(bottles_needed(1, {0.89, kExactly}, 0.9) == 2);
  CHECK(bottles_needed(5, {0, kExactly}, 0.9) == 0);
  CHECK(bottles_needed(5, {0.001, kExactly}, 0.9) == 0);
}

TEST_CASE("a chance that is not exactly known: all good more often, and more bottles to be sure", "[table]") {
  // Beta(9, 1): the mean of p^n is 9 / (9 + n).
  const BatchChance chance{0.9, 10};
  CHECK_THAT(no_reject_chance(1, chance), WithinRel(0.9, 1e-12));
  CHECK_THAT(no_reject_chance(10, chance), WithinRel(9.0 / 19, 1e-12));
  // P(at least 10 good) by integrating the binomial tail over 9 p^8, computed apart: 0.8346 of 12 bottles,
  // 0.9023 of 13, 0.9405 of 14, 0.9628 of 15.
  CHECK(bottles_needed(10, chance, 0.9) == 13);
  CHECK(bottles_needed(10, chance, 0.95) == 15);
  constexpr double kExactly = std::numeric_limits<double>::infinity();
  CHECK(bottles_needed(10, {0.9, kExactly}, 0.95) == 13);

  // Quantiles of Beta(36, 4) and Beta(9, 1) are 0.8131 and 0.9642, 0.7169 and 0.9943: by simulation, and for
  // the latter by hand, 0.05^(1/9) and 0.95^(1/9).
  SettingsRow row;
  row.chance = 0.9;
  row.chance_low = 0.8131;
  row.chance_high = 0.9642;
  CHECK_THAT(batch_chance(row).precision, WithinRel(40.0, 0.01));
  row.chance_low = std::pow(0.05, 1.0 / 9);
  row.chance_high = std::pow(0.95, 1.0 / 9);
  CHECK_THAT(batch_chance(row).precision, WithinRel(10.0, 1e-6));
  row.chance_low = 0;
  row.chance_high = 1;
  CHECK(batch_chance(row).precision == 0.1);
}
