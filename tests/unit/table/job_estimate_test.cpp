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

TEST_CASE("on a taper the way round is by angle, its edges kept on the glass, in the shop's units",
          "[table]") {
  Bench bench;
  bench.shop.vessels[0] = {"taper", 70, 84, 110, 2};
  // 77 mm at the centre: 241.90 mm round; under art 10 mm high the wall is 70 + 14 * 50 / 110 = 76.364 mm at
  // its narrowest, where 2 mm of glass are 2.0167 mm of the page.
  CHECK(bench.job(237.8, 10).fits);
  CHECK_FALSE(bench.job(237.9, 10).fits);
  // Half of the round less 3 mm of glass at each seam, 3.025 mm of the page: 114.90 mm.
  CHECK(bench.job(114.8, 10).warnings.empty());
  CHECK(bench.job(115, 10).warnings.size() == 1);
  const JobEstimate wide =
      estimate_job(bench.row, bench.machine, bench.vessel, {254, 25.4}, 1, 120, {}, shop::LengthUnit::inch);
  REQUIRE(wide.misfits.size() == 1);
  // 75.383 mm under 25.4 mm: 2 mm of glass are 2.043 mm of the page.
  CHECK(
      wide.misfits[0] ==
      "the art is 10.00 in wide, the way round takes 9.36 in: 9.52 in less 0.08 in kept clear on each side");
  const JobEstimate tilted =
      estimate_job(bench.row, bench.machine, bench.vessel, {50, 80}, 1, 120, {}, shop::LengthUnit::inch);
  REQUIRE(tilted.warnings.size() == 1);
  CHECK(tilted.warnings[0].find("0.10 in out of focus") != std::string::npos);
}

TEST_CASE("on a taper the dose goes along the art, and the batch is judged by the whole art", "[table]") {
  Bench bench;
  bench.shop.vessels[0] = {"steep", 40, 90, 90, 0};
  // 65 mm at the centre; 80 mm of art reach from 40 + 50 * 5 / 90 = 42.78 mm to 87.22 mm.
  const auto belief = [](double chance) {
    return DrawnChance{Eigen::Vector2d(chance, chance), Eigen::Vector2d(0.5, 0.5), {chance, chance, chance}};
  };
  const auto place = [](double chance) { return surface::ChanceInterval{chance, chance, chance}; };
  const ArtChance today{{place(0.99), place(0.5), place(0.8)}, belief(0.4)};
  const JobEstimate job = estimate_job(bench.row, bench.machine, bench.vessel, {60, 80}, 3, 120, today);
  REQUIRE(job.places.size() == 3);
  CHECK_THAT(job.places[1].dose_ratio, WithinAbs(65 / 42.7778, 1e-4));
  CHECK_THAT(job.places[2].dose_ratio, WithinAbs(65 / 87.2222, 1e-4));
  CHECK_THAT(job.places[1].width_mm, WithinAbs(60 * 42.7778 / 65, 1e-3));
  CHECK(job.chance_now == 0.99);
  CHECK(job.places[job.worst].name == "neck end");
  CHECK_THAT(job.no_reject, WithinRel(0.064, 1e-12));
  CHECK(taper_text(job, shop::LengthUnit::mm) ==
        "dose +52 % at the neck end of the art, -25 % at the base end; the art is 39.5 mm round at the neck "
        "end and 80.5 mm at the base end; chance of a good piece today 0.50 by the neck end, where it is "
        "least, 0.40 by the whole art");
  // Without a surface the dose alone; on a straight wall nothing.
  CHECK(taper_text(bench.job(60, 80), shop::LengthUnit::inch) ==
        "dose +52 % at the neck end of the art, -25 % at the base end; the art is 1.55 in round at the neck "
        "end and 3.17 in at the base end");
  bench.shop.vessels[0] = {"straight", 65, 65, 90, 0};
  CHECK(taper_text(bench.job(60, 80), shop::LengthUnit::mm).empty());
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
  // P(at most 0, 1, 2, 3 of 10 at 0.1) = 0.349, 0.736, 0.930, 0.987: scipy.stats.binom.
  CHECK_THAT(job.rejects, WithinAbs(1, 1e-9));
  CHECK(job.rejects_low == 0);
  CHECK(job.rejects_high == 3);
  CHECK_THAT(job.batch_burn_seconds, WithinRel(10 * job.burn_seconds, 1e-12));
  CHECK_THAT(job.batch_seconds, WithinRel(10 * (job.burn_seconds + 120), 1e-12));
  CHECK(hours_text(59.4 * 60) == "59 min");
  CHECK(hours_text(59.6 * 60) == "1 h 00 min");
  CHECK(hours_text(7500) == "2 h 05 min");
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
  // Beta-binomial, P(at most 0 to 4 of 10) = 0.4737, 0.7368, 0.8762, 0.9458, 0.9783; at most 51 and 52 of 200
  // 0.9282, 0.9323 (scipy.stats.betabinom).
  CHECK(rejects_quantile(10, chance, 0.05) == 0);
  CHECK(rejects_quantile(10, chance, 0.95) == 4);
  CHECK(rejects_quantile(10, chance, 0.5) == 1);
  CHECK(rejects_quantile(200, chance, 0.93) == 52);
  CHECK(rejects_quantile(5, {0, 1}, 0.5) == 5);
  CHECK(rejects_quantile(5, {1, 1}, 0.5) == 0);
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
