// Raster geometry: pitch = 25.4 / dpi, dose = P tone / (v pitch), lines = ceil(height / pitch),
// time = lines (length / v + turnaround). Values computed independently from these definitions.
#include <catch2/catch.hpp>

#include "published/published_table.hpp"
#include "shop/burn_time.hpp"

using Catch::Matchers::WithinRel;
using namespace frostcal;

TEST_CASE("raster times, lines and doses", "[published][shop]") {
  int compared = 0;
  for (const auto& row : published_table::read("raster.csv")) {
    const auto number = [&](const char* name) { return std::stod(row.at(name)); };
    shop::Machine machine;
    machine.rated_power_w = number("P_W");
    machine.top_speed_mm_s = number("v_mm_s");
    machine.turnaround_s = number("turnaround_s");
    const shop::Setting setting{100,      100, static_cast<int>(number("dpi")), 100 * number("coverage"),
                                "stucki", 1};
    const shop::RasterTime time =
        shop::raster_time(number("length_mm"), number("height_mm"), setting, machine);
    INFO("dpi " << row.at("dpi"));
    CHECK_THAT(shop::pitch_mm(setting.dpi), WithinRel(number("pitch_mm"), 1e-8));
    CHECK_THAT(shop::dose_j_mm2(setting, machine), WithinRel(number("dose_J_mm2"), 1e-8));
    CHECK(time.lines == static_cast<long>(number("lines")));
    CHECK_THAT(time.seconds, WithinRel(number("time_s"), 1e-8));
    ++compared;
  }
  CHECK(compared >= 8);
}
