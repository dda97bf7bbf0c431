#include "choice/evidence_count.hpp"

#include <cmath>
#include <set>

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

int pieces_at(const surface::ShopEvidence& evidence, const std::string& name,
              const surface::PhysicalSetting& setting) {
  constexpr double kSame = 1e-4;  // files keep percentages to 0.005
  const auto same = [](double a, double b) { return std::abs(a - b) <= kSame * std::abs(b); };
  int pieces = 0;
  for (const surface::Observation& seen : evidence.observations) {
    const surface::PhysicalSetting& at = seen.setting;
    pieces += seen.glass == name && seen.piece && same(at.power_w, setting.power_w) &&
              same(at.speed_mm_s, setting.speed_mm_s) && same(at.pitch_mm, setting.pitch_mm) &&
              same(at.tone, setting.tone) && at.passes == setting.passes;
  }
  return pieces;
}

}  // namespace frostcal::choice
