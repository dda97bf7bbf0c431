// The reference swatch of a grid: burned at the same setting at every grid of a glass on a machine, so that
// graders settle on one scale and a tired tube or dirty lens shows.
#pragma once

#include <optional>
#include <string>

#include "design/planned_swatch.hpp"
#include "shop/machine.hpp"
#include "shop/setting.hpp"
#include "surface/shop_observations.hpp"
#include "surface/shop_surface.hpp"

namespace frostcal::choice {

struct ReferenceSwatch {
  design::PlannedSwatch swatch;  // role reference
  std::string reason;            // where its setting comes from, a few words
};

/// Of the graded swatches of this glass on this machine, the one that tells most of the machine's power
/// (power_information.hpp), if no more than half of the bottles would chip there beyond the bar. The setting
/// of the latest reference swatch is kept, though, while it tells half as much. Where nothing is graded: as
/// the latest reference swatch; else the setting in force; else the middle of the ranges in logarithms, as
/// near as the dose limit lets it lie. A setting that the machine no longer accepts is passed over.
/// `surfaces` is the fit of `evidence`. `machine` is the whole machine, `allowed` the same narrowed to the
/// ranges asked for, which only the middle heeds. Nothing when the dose limit forbids every setting.
std::optional<ReferenceSwatch> reference_swatch(const surface::ShopEvidence& evidence,
                                                const surface::ShopSurface& surfaces,
                                                const std::string& glass, const shop::Machine& machine,
                                                const shop::Machine& allowed,
                                                const std::optional<shop::Setting>& in_force);

}  // namespace frostcal::choice
