#include "table/turnaround.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "numerics/random_engine.hpp"
#include "shop/burn_time.hpp"
#include "shop/shop_file.hpp"
#include "unit/table/sample_row.hpp"

using namespace frostcal;
using namespace frostcal::table;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace {

shop::Machine bench() {
  return shop::parse_shop(shop::shop_template(), "shop.toml").machines.front();  // turnaround_s = 0.05
}

// A piece of 60 x 40 mm at 300 dpi and 40 % of 1200 mm/s: 709 lines of 40 mm, 59.08 s of scanning.
grades::PieceRow timed(double seconds, int line) {
  grades::PieceRow piece;
  piece.glass = "amber-jug";
  piece.machine = "bench";
  piece.setting = {62, 40, 300, 100, "stucki", 1};
  piece.by = "Ann";
  piece.logged_at = "2026-12-01T08:00:" + std::to_string(10 + line) + "Z";
  piece.burn = grades::TimedBurn{seconds, 60, 40};
  piece.line = line;
  return piece;
}

}  // namespace

TEST_CASE("a timed burn implies its turnaround by the raster formula, by hand", "[table][turnaround]") {
  const grades::PieceRow piece = timed(709 * (40.0 / 480 + 0.09), 2);
  CHECK_THAT(implied_turnaround(*piece.burn, piece.setting, bench()), WithinRel(0.09, 1e-12));
  grades::PieceRow twice = piece;
  twice.setting.passes = 2;
  twice.burn->seconds *= 2;
  CHECK_THAT(implied_turnaround(*twice.burn, twice.setting, bench()), WithinRel(0.09, 1e-12));
}

TEST_CASE("a hidden turnaround comes back from logs with odd art, settings and watches",
          "[table][turnaround][simulation]") {
  for (const double hidden : {0.02, 0.083, 0.25}) {
    shop::Machine truth = bench();
    truth.turnaround_s = hidden;
    numerics::RandomEngine random(static_cast<std::uint64_t>(1000 * hidden));
    std::vector<grades::PieceRow> pieces;
    for (int i = 0; i < 25; ++i) {
      grades::PieceRow piece = timed(1, i + 2);
      piece.setting.speed_pct = 10 + std::floor(80 * random.uniform());
      piece.setting.dpi = random.uniform() < 0.5 ? 300 : 500;
      piece.burn->art_width_mm = 20 + 100 * random.uniform();
      piece.burn->art_height_mm = 15 + 70 * random.uniform();
      const double seconds =
          shop::raster_time(piece.burn->art_height_mm, piece.burn->art_width_mm, piece.setting, truth)
              .seconds;
      piece.burn->seconds =
          6 * std::round(seconds * (1 + 0.005 * random.normal()) / 6);  // tenths of a minute
      if (i % 6 == 5) piece.burn->seconds *= 2.5;                       // fetched coffee
      pieces.push_back(piece);
    }
    const Turnaround found = estimate_turnaround(pieces, bench());
    CAPTURE(hidden, found.seconds, found.low, found.high);
    REQUIRE(found.calibrated);
    CHECK(found.shop_seconds == 0.05);
    CHECK_THAT(found.seconds, WithinAbs(hidden, 0.004));
    CHECK(found.low <= found.seconds);
    CHECK(found.seconds <= found.high);
  }
}

TEST_CASE("shop.toml holds until three burns were timed; pieces logged together are one burn",
          "[table][turnaround]") {
  const double seconds = 709 * (40.0 / 480 + 0.09);
  std::vector<grades::PieceRow> pieces{timed(seconds, 2), timed(seconds, 3)};
  Turnaround found = estimate_turnaround(pieces, bench());
  CHECK_FALSE(found.calibrated);
  CHECK(found.burns == 2);
  CHECK(found.seconds == 0.05);
  for (int i = 0; i < 5; ++i) {  // one act of logging
    pieces.push_back(pieces.back());
    pieces.back().line = 4 + i;
  }
  CHECK(estimate_turnaround(pieces, bench()).burns == 2);
  pieces.push_back(timed(seconds, 9));
  found = estimate_turnaround(pieces, bench());
  CHECK(found.burns == 3);
  CHECK_THAT(found.seconds, WithinRel(0.09, 1e-9));
  shop::Machine other = bench();
  other.name = "barn";
  CHECK(estimate_turnaround(pieces, other).burns == 0);
}

TEST_CASE("burns shorter than scanning takes, or far longer, are named and not used", "[table][turnaround]") {
  const double scanning = 709 * 40.0 / 480;
  const double good = 709 * (40.0 / 480 + 0.09);
  const std::vector<grades::PieceRow> pieces{timed(0.9 * scanning, 2), timed(good, 3), timed(good, 4),
                                             timed(3 * 3600, 5), timed(good, 6)};
  const Turnaround found = estimate_turnaround(pieces, bench());
  CHECK(found.unused == std::vector<int>{2, 5});
  CHECK(found.burns == 3);
  CHECK_THAT(found.seconds, WithinRel(0.09, 1e-9));
  CHECK(is_possible({0.995 * scanning, 60, 40}, pieces[0].setting, bench()));  // a watch read in a hurry
  CHECK_FALSE(is_possible({0.985 * scanning, 60, 40}, pieces[0].setting, bench()));

  const PossibleTime possible = possible_time(*pieces[0].burn, pieces[0].setting, bench());
  CHECK_THAT(possible.shortest, WithinRel(0.99 * scanning, 1e-12));
  CHECK_THAT(possible.longest, WithinRel(scanning + 709 * 1.0, 1e-12));
  shop::Machine slow = bench();
  slow.turnaround_s = 2;  // its owner says so
  CHECK_THAT(possible_time(*pieces[0].burn, pieces[0].setting, slow).longest,
             WithinRel(scanning + 709 * 6.0, 1e-12));
  // Twelve minutes for art of 12 x 12 mm: 142 lines, 5 s lost at each.
  CHECK_FALSE(is_possible({720, 12, 12}, pieces[0].setting, bench()));
}

TEST_CASE("only the latest thirty timed burns count", "[table][turnaround]") {
  std::vector<grades::PieceRow> pieces;
  for (int i = 0; i < 80; ++i) {
    pieces.push_back(timed(709 * (40.0 / 480 + (i < 50 ? 0.09 : 0.03)), i + 2));
    pieces.back().logged_at = "2026-12-01T08:" + std::to_string(10 + i / 2) + ":00Z";
    pieces.back().by = i % 2 == 0 ? "Ann" : "Bo";
  }
  const Turnaround found = estimate_turnaround(pieces, bench());
  CHECK(found.burns == 30);
  CHECK_THAT(found.seconds, WithinRel(0.03, 1e-9));
}
