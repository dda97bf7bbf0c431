// What the grades of one glass on one machine amount to: swatches of grids apart from customers' pieces.
#pragma once

#include <string>
#include <vector>

#include "surface/observation.hpp"
#include "surface/shop_observations.hpp"

namespace frostcal::choice {

struct EvidenceCount {
  int swatches = 0;  // graded swatches of grids, each once however many people graded it
  int bottles = 0;   // that those are on
  int pieces = 0;    // logged pieces, at most surface::kMostPieces
};

/// `name` = surface::surface_name(glass, machine).
EvidenceCount count_evidence(const surface::ShopEvidence& evidence, const std::string& name);

/// Ids of the grids of the glass on the machine that have grades, in order.
std::vector<std::string> graded_grids(const surface::ShopEvidence& evidence, const std::string& glass,
                                      const std::string& machine);

/// Logged pieces at this very setting, to within shop::kSameDial.
int pieces_at(const surface::ShopEvidence& evidence, const std::string& name, const shop::Setting& setting,
              const shop::Machine& machine);

}  // namespace frostcal::choice
