#include "report/glass_pictures.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include "grades/grade_file.hpp"
#include "report/choice_text.hpp"
#include "surface/physical_setting.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::report {

using surface::PhysicalSetting;
using textfile::counted;

namespace {

std::vector<double> log_steps(double low, double high, int count) {
  std::vector<double> values;
  for (int i = 0; i < count; ++i)
    values.push_back(low * std::pow(high / low, static_cast<double>(i) / (count - 1)));
  return values;
}

template <typename Visit>
void for_each_swatch(const surface::ShopEvidence& evidence, const choice::GlassChoice& choice,
                     const Visit& visit) {
  for (const surface::GradedGrid& graded : evidence.grids) {
    if (graded.grid.glass != choice.glass || graded.grid.machine != choice.machine) continue;
    for (const grades::SwatchGrade& grade : graded.graded) {
      if (const design::Swatch* swatch = graded.grid.find(grade.swatch)) visit(*swatch, grade);
    }
  }
}

ChanceCut cut_through(const shop::Machine& machine, const surface::GlassSurface& surface,
                      const surface::ShopEvidence& evidence, const choice::GlassChoice& choice, bool power) {
  const shop::SteppedRange& dial = power ? machine.power_pct : machine.speed_pct;
  ChanceCut cut;
  cut.axis = power ? "power %" : "speed %";
  cut.best = power ? choice.best->setting.power_pct : choice.best->setting.speed_pct;
  cut.at = log_steps(dial.min, dial.max, 61);
  std::vector<PhysicalSetting> points;
  for (const double value : cut.at) {
    shop::Setting setting = choice.best->setting;
    (power ? setting.power_pct : setting.speed_pct) = value;
    points.push_back(surface::physical_setting(setting, machine));
  }
  for (const surface::ChanceInterval& interval : surface.chance(points)) {
    cut.chance.push_back(interval.chance);
    cut.low.push_back(interval.low);
    cut.high.push_back(interval.high);
  }
  std::set<double> tried;
  for_each_swatch(evidence, choice, [&](const design::Swatch& swatch, const grades::SwatchGrade&) {
    tried.insert(power ? swatch.setting.power_pct : swatch.setting.speed_pct);
  });
  cut.tried.assign(tried.begin(), tried.end());
  return cut;
}

/// Of the swatches as the fit sees them: on a taper each has the dose of its own place.
std::vector<GradeCounts> grade_counts(const surface::GlassSurface& surface,
                                      const surface::ShopEvidence& evidence,
                                      const choice::GlassChoice& choice) {
  GradeCounts frost{"frost", std::vector<double>(shop::kFrostGrades, 0.0),
                    std::vector<double>(shop::kFrostGrades, 0.0)};
  GradeCounts chipping{"chipping", std::vector<double>(shop::kChippingGrades, 0.0),
                       std::vector<double>(shop::kChippingGrades, 0.0)};
  const std::string name = surface::surface_name(choice.glass, choice.machine);
  for (const surface::Observation& swatch : evidence.observations) {
    if (swatch.piece || swatch.glass != name) continue;
    const surface::GradeProbabilities expected = surface.grade_probabilities(swatch.setting);
    if (swatch.frost.lowest != surface::kNotGraded) {
      frost.seen[static_cast<std::size_t>(swatch.frost.lowest)] += 1;
      for (std::size_t j = 0; j < shop::kFrostGrades; ++j) frost.expected[j] += expected.frost[j];
    }
    if (swatch.chipping.lowest != surface::kNotGraded) {
      chipping.seen[static_cast<std::size_t>(swatch.chipping.lowest)] += 1;
      for (std::size_t j = 0; j < shop::kChippingGrades; ++j) chipping.expected[j] += expected.chipping[j];
    }
  }
  return {frost, chipping};
}

}  // namespace

std::vector<ChanceMap> chance_maps(const shop::Machine& machine, const surface::GlassSurface& surface,
                                   const surface::ShopEvidence& evidence, const choice::GlassChoice& choice,
                                   int nodes) {
  std::set<int> dpi;
  if (choice.best) dpi.insert(choice.best->setting.dpi);
  for_each_swatch(evidence, choice, [&](const design::Swatch& swatch, const grades::SwatchGrade&) {
    dpi.insert(swatch.setting.dpi);
  });
  std::vector<ChanceMap> maps;
  if (machine.power_pct.values().size() == 1 || machine.speed_pct.values().size() == 1) return maps;
  for (const int one : dpi) {
    ChanceMap map;
    map.dpi = one;
    map.tone_pct = choice.best ? choice.best->setting.tone_pct : machine.tone_pct.max;
    map.passes = choice.best ? choice.best->setting.passes : 1;
    map.power_pct = log_steps(machine.power_pct.min, machine.power_pct.max, nodes);
    map.speed_pct = log_steps(machine.speed_pct.min, machine.speed_pct.max, nodes);
    std::vector<PhysicalSetting> points;
    for (const double speed : map.speed_pct) {
      for (const double power : map.power_pct) {
        points.push_back(surface::physical_setting(
            {power, speed, one, map.tone_pct, machine.screens.front(), map.passes}, machine));
      }
    }
    const Eigen::VectorXd chance = surface.scan_chance(points);
    map.chance.assign(chance.data(), chance.data() + chance.size());
    if (choice.best && choice.best->setting.dpi == one) {
      map.best = std::make_pair(choice.best->setting.power_pct, choice.best->setting.speed_pct);
    }
    for_each_swatch(evidence, choice, [&](const design::Swatch& swatch, const grades::SwatchGrade& grade) {
      if (swatch.setting.dpi != one) return;
      if (std::abs(swatch.setting.tone_pct - map.tone_pct) > 0.01 || swatch.setting.passes != map.passes) {
        ++map.others;
      } else {
        map.swatches.push_back(
            {swatch.id, swatch.setting.power_pct, swatch.setting.speed_pct, grade.frost, grade.chipping});
      }
    });
    maps.push_back(std::move(map));
  }
  return maps;
}

GlassReport glass_report(const shop::Machine& machine, const surface::GlassSurface& surface,
                         const surface::ShopEvidence& evidence, const choice::GlassChoice& choice) {
  GlassReport report;
  report.choice = choice;
  if (choice.limited_by != choice::LimitingCause::nothing) report.limited_by = to_text(choice.limited_by);
  report.maps = chance_maps(machine, surface, evidence, choice, 49);
  if (choice.best) {
    for (const bool power : {true, false})
      if ((power ? machine.power_pct : machine.speed_pct).values().size() > 1)
        report.cuts.push_back(cut_through(machine, surface, evidence, choice, power));
  }
  report.counts = grade_counts(surface, evidence, choice);
  std::string grids;
  for (const std::string& grid : choice.grids)
    grids += (grids.empty() ? "" : ", ") + grid.substr(0, grid.find('-'));
  report.evidence = "grids " + grids + "; " + counted(choice.swatches, "swatch", "swatches") + " on " +
                    counted(choice.bottles, "bottle", "bottles");
  if (choice.pieces > 0) report.evidence += "; " + counted(choice.pieces, "piece", "pieces");
  if (!choice.set_aside.empty()) report.evidence += "; " + choice.set_aside;
  bool simulated = false;
  for_each_swatch(evidence, choice, [&](const design::Swatch&, const grades::SwatchGrade& grade) {
    simulated = simulated || grade.note == grades::kSimulated;
  });
  if (simulated) report.evidence += "; grades simulated";
  return report;
}

}  // namespace frostcal::report
