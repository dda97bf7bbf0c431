// Report pages made from invented figures, for tests.
#pragma once

#include <cmath>

#include "report/fit_report.hpp"
#include "report/job_card.hpp"
#include "report/wall_card.hpp"

namespace frostcal::report::test {

/// A ridge along power / speed = 1.35 at 300 dpi; highest value 0.97.
inline double ridge(double power, double speed, int dpi) {
  const double off = std::log(power / speed) + std::log(dpi / 300.0) - 0.3;
  return 0.97 * std::exp(-3 * off * off);
}

inline ChanceMap ridge_map(int dpi) {
  ChanceMap map;
  map.dpi = dpi;
  for (int i = 0; i < 19; ++i) {
    map.power_pct.push_back(10 * std::pow(10, i / 18.0));
    map.speed_pct.push_back(8 * std::pow(10, i / 18.0));
  }
  for (const double speed : map.speed_pct)
    for (const double power : map.power_pct) map.chance.push_back(ridge(power, speed, dpi));
  map.swatches = {
      {"A1", 20, 15, 3, 0}, {"A2", 60, 44, 5, 0}, {"A3", 80, 15, 5, 2}, {"A4", 60, 44, 4, std::nullopt}};
  if (dpi == 300) map.best = {60, 44};
  return map;
}

inline GlassReport glass_report() {
  GlassReport glass;
  glass.choice.glass = "amber-jug";
  glass.choice.machine = "bench";
  choice::Decision best;
  best.setting = {60, 44, 300, 100, "stucki", 1};
  best.chance = 0.95;
  best.chance_low = 0.82;
  best.chance_high = 0.985;
  best.tolerance_pct = 7.5;
  best.seconds_per_cm2 = 9.3;
  glass.choice.best = best;
  glass.choice.findings = {"B2 does not agree with the rest."};
  glass.limited_by = "frost";
  glass.maps = {ridge_map(250), ridge_map(300)};
  ChanceCut cut;
  cut.axis = "power %";
  cut.best = 60;
  cut.tried = {20, 60, 80};
  for (int i = 0; i < 30; ++i) {
    cut.at.push_back(10 * std::pow(10, i / 29.0));
    cut.chance.push_back(ridge(cut.at.back(), 44, 300));
    cut.low.push_back(cut.chance.back() * 0.8);
    cut.high.push_back(cut.chance.back() * 0.8 + 0.2);
  }
  glass.cuts = {cut};
  glass.counts = {{"frost", {2, 4, 6, 9, 11, 4}, {2.3, 3.6, 6.4, 9.2, 10.1, 4.4}},
                  {"chipping", {29, 5, 2, 0}, {28.4, 4.9, 2.1, 0.6}}};
  glass.evidence = "grid 0007-amber-jug; 36 swatches on 3 bottles";
  return glass;
}

/// The same glass graded by three people.
inline GlassReport graders_report() {
  GlassReport glass = glass_report();
  const auto kappa = [](double pairs, double value, double low, double high) {
    return grades::Kappa{true, pairs, value, 0.1, low, high};
  };
  grades::GraderAgreement close{
      "Ann", "Bo", kappa(36, 0.87, 0.78, 0.93), kappa(36, 0.71, 0.49, 0.85), -0.1, 0, 0.2, {}};
  grades::GraderAgreement apart{"Ann",
                                "Jörg",
                                kappa(12, 0.41, 0.05, 0.68),
                                {},
                                0.8,
                                0.3,
                                1.4,
                                {"0007-amber-jug B2", "0007-amber-jug C4"}};
  glass.graders = {{close, apart},
                   {{"Ann", kappa(14, 0.92, 0.44, 1), {false, 14, 0, 0, -1, 1}}},
                   "Where graders differ makes up about 31 % of the scatter about the surface: 84 grades "
                   "tell as much as 58 "
                   "would without it."};
  return glass;
}

inline ReportHead report_head() {
  return {"Saltings Farm Shop", "2026-11-25", "frost 4 or better and chipping 0", 0.9, "0.1.0",
          shop::Paper::a4};
}

inline std::vector<WallCardRow> card_rows() {
  return {{"amber-jug", "bench", {60, 44, 300, 100, "stucki", 1}, 0.95, 7.5, 9.3, "settled"},
          {"olive-oil-green", "bench", {48, 37, 400, 100, "stucki", 1}, 0.91, 3.5, 12.1, "provisional"},
          {"clear-cruet", "barn", {72.5, 50, 254, 60, "floyd-steinberg", 2}, 0.88, 2, 6.2, "stale"}};
}

inline JobCard job() {
  JobCard job;
  job.shop = "Saltings Farm Shop";
  job.date = "2026-11-25";
  job.machine = "bench";
  job.status = "settled";
  job.glass = {"amber-jug", "soda-lime", "amber", "tall-jug", {}};
  job.vessel = {"tall-jug", 88, 88, 95, 2};
  job.setting = {60, 44, 300, 100, "stucki", 1};
  job.chance = 0.95;
  job.tolerance_pct = 7.5;
  job.art_width_mm = 60;
  job.art_height_mm = 45;
  job.lines = 532;
  job.burn_seconds = 420;
  job.pieces = 12;
  job.no_reject = 0.6;
  job.rejects = 0.7;
  job.batch_seconds = 12 * (job.burn_seconds + 120);
  job.bottles_to_bring = 16;
  return job;
}

}  // namespace frostcal::report::test
