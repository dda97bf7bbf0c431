#include "choice/evidence_count.hpp"

#include <set>

#include "surface/physical_setting.hpp"

namespace frostcal::choice {

EvidenceCount count_evidence(const surface::ShopEvidence& evidence, const std::string& name) {
  EvidenceCount count;
  std::set<std::string> swatches;
  std::set<std::string> bottles;
  for (const surface::Observation& seen : evidence.observations) {
    if (seen.glass != name) continue;
    if (seen.piece) {
      ++count.pieces;
    } else {
      swatches.insert(seen.swatch);
      bottles.insert(seen.bottle);
    }
  }
  count.swatches = static_cast<int>(swatches.size());
  count.bottles = static_cast<int>(bottles.size());
  return count;
}

std::vector<std::string> graded_grids(const surface::ShopEvidence& evidence, const std::string& glass,
                                      const std::string& machine) {
  std::vector<std::string> ids;
  for (const surface::GradedGrid& graded : evidence.grids) {
    if (graded.grid.glass == glass && graded.grid.machine == machine && !graded.graded.empty()) {
      ids.push_back(graded.grid.id);
    }
  }
  return ids;
}

int pieces_at(const surface::ShopEvidence& evidence, const std::string& name, const shop::Setting& setting,
              const shop::Machine& machine) {
  const auto beside = [&](double step) {
    shop::Setting moved = setting;
    for (double* dial : {&moved.power_pct, &moved.speed_pct, &moved.tone_pct}) *dial += step;
    return surface::physical_setting(moved, machine);
  };
  const surface::PhysicalSetting low = beside(-shop::kSameDial);
  const surface::PhysicalSetting high = beside(shop::kSameDial);
  const auto within = [&](const surface::PhysicalSetting& at, double surface::PhysicalSetting::*dial) {
    return low.*dial <= at.*dial && at.*dial <= high.*dial;
  };
  using Physical = surface::PhysicalSetting;
  int pieces = 0;
  for (const surface::Observation& seen : evidence.observations) {
    const Physical& at = seen.setting;
    pieces += seen.glass == name && seen.piece && within(at, &Physical::power_w) &&
              within(at, &Physical::speed_mm_s) && within(at, &Physical::tone) &&
              at.pitch_mm == low.pitch_mm && at.passes == setting.passes;
  }
  return pieces;
}

}  // namespace frostcal::choice
