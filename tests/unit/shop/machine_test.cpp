#include "shop/machine.hpp"

#include <catch2/catch.hpp>

#include "shop/burn_time.hpp"
#include "shop/setting.hpp"
#include "shop/setting_cells.hpp"

using namespace frostcal::shop;

namespace {

Machine bench() {
  Machine machine;
  machine.name = "bench";
  machine.rated_power_w = 60;
  machine.top_speed_mm_s = 1200;
  machine.dpi = {300, 500};
  machine.power_pct = {5, 100, 1};
  machine.speed_pct = {5, 100, 0.5};
  machine.tone_pct = {40, 100, 10};
  machine.screens = {"stucki"};
  return machine;
}

}  // namespace

TEST_CASE("a dial accepts its steps and nothing between", "[shop]") {
  const SteppedRange range{5, 20, 2.5};
  CHECK(range.values() == std::vector<double>{5, 7.5, 10, 12.5, 15, 17.5, 20});
  CHECK(range.accepts(12.5));
  CHECK_FALSE(range.accepts(12.4));
  CHECK_FALSE(range.accepts(22.5));
  CHECK(SteppedRange{100, 100, 10}.values().size() == 1);
}

TEST_CASE("a dial takes its values as files of two and of four decimals keep them", "[shop]") {
  const SteppedRange eighths{5, 100, 0.125};
  CHECK(dial_cell(8.125) == "8.1250");
  for (const double kept : {8.125, 8.12, 8.13}) {
    CHECK(eighths.accepts(kept));
    CHECK(eighths.dialled(kept) == 8.125);
  }
  CHECK_FALSE(eighths.accepts(8.1));
  CHECK_FALSE(eighths.accepts(8.118));
  const SteppedRange bytes{100 * 12 / 255.0, 100, 100 / 255.0};
  CHECK(dial_cell(bytes.min + 91 * bytes.step) == "40.3922");
  CHECK(bytes.accepts(40.3922));
  CHECK(bytes.accepts(40.39));
  CHECK(bytes.values().size() == 244);
  CHECK_FALSE(bytes.accepts(40.4));
  CHECK(dial_cell(60) == "60.00");
  CHECK(dial_cell(100 / 3.0) == "33.3333");
  CHECK(dial_cell(62.25) == "62.25");

  Setting a{8.125, 16, 400, 100, "stucki", 1};
  Setting b = a;
  b.power_pct = 8.12;
  CHECK(same_setting(a, b));
  b.speed_pct = 16.1;  // the finest step there is
  CHECK_FALSE(same_setting(a, b));
}

// Common practice, no source: the worked example that people in the trade use.
TEST_CASE("500 to 300 dpi cuts the dose to 0.6, a 60 % tone on top to 0.36", "[shop]") {
  const Machine machine = bench();
  const Setting fine{50, 40, 500, 100, "stucki", 1};
  Setting coarse = fine;
  coarse.dpi = 300;
  Setting toned = coarse;
  toned.tone_pct = 60;
  CHECK(dose_j_mm2(coarse, machine) / dose_j_mm2(fine, machine) == Approx(0.6).epsilon(1e-12));
  CHECK(dose_j_mm2(toned, machine) / dose_j_mm2(fine, machine) == Approx(0.36).epsilon(1e-12));
}

// Common practice, no source.
TEST_CASE("a 3 inch mark is 76.2 mm and 900 lines at 300 dpi", "[shop]") {
  const RasterTime time = raster_time(50, 76.2, {50, 40, 300, 100, "stucki", 1}, bench());
  CHECK(time.lines == 900);
}

TEST_CASE("a setting is accepted only when every dial takes it and the dose is allowed", "[shop]") {
  Machine machine = bench();
  const Setting good{50, 40.5, 300, 100, "stucki", 1};
  CHECK(accepts(machine, good));
  Setting odd = good;
  odd.dpi = 400;
  CHECK_FALSE(accepts(machine, odd));
  machine.dose_limit_j_mm2 = dose_j_mm2(good, machine) * 0.99;
  CHECK_FALSE(accepts(machine, good));
}

TEST_CASE("a setting reads as a person would say it", "[shop]") {
  CHECK(to_text(Setting{60, 40.5, 300, 100, "stucki", 1}) == "60 % power, 40.5 % speed, 300 dpi");
  CHECK(to_text(Setting{33.75, 8.125, 300, 100, "stucki", 1}) == "33.75 % power, 8.125 % speed, 300 dpi");
  CHECK(dial_text(40.39215678) == "40.3922");
  CHECK(dial_text(100) == "100");
  CHECK(to_text(Setting{60, 40, 300, 70, "stucki", 2}) ==
        "60 % power, 40 % speed, 300 dpi, 70 % tone (stucki), 2 passes");
}

TEST_CASE("a burn holds no more recipes than there are fills to tell them apart", "[shop]") {
  Machine machine = bench();
  CHECK(machine.most_recipes() == 16);
  machine.recipes_per_burn = 100;
  CHECK(machine.most_recipes() == 64);  // colours of our own
  machine.fills = {"#1A3C6E", "#B5651D"};
  CHECK(machine.most_recipes() == 2);
}
