// The answer of `fit` for one glass on one machine.
#pragma once

#include <string>

#include "choice/best_setting.hpp"
#include "choice/decision.hpp"
#include "shop/shop.hpp"
#include "surface/shop_observations.hpp"
#include "surface/shop_surface.hpp"

namespace frostcal::choice {

enum class Prefer {
  chance,  // the highest chance under a small drift of power
  fast,    // the fastest whose chance is within `margin` of the highest
  robust,  // the one that keeps the target chance under the widest drift of power, within `margin`
  sure     // the highest lower end of the 90 % interval, within `margin`
};

struct ChoiceOptions {
  Prefer prefer = Prefer::chance;
  double margin = 0.02;
  bool plan_ahead = true;  // also say what the next grid would gain (costs a targeted plan)
  std::uint64_t seed = 1;
};

/// Everything of GlassChoice but `fits` and `findings`, which come from the diagnostics. A glass without
/// grades of its own gets `best` only when other glasses of the shop inform it.
GlassChoice choose_setting(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                           const surface::ShopSurface& surfaces, const std::string& glass,
                           const std::string& machine, const ChoiceOptions& options = {});

/// One setting with its chance, interval, tolerance and time.
Decision describe_setting(const shop::Setting& setting, const shop::Machine& machine,
                          const surface::GlassSurface& surface, const shop::Acceptance& acceptance);
/// The same with the chance and its interval known, and `chance` for how they change as the machine drifts.
Decision describe_setting(const shop::Setting& setting, const shop::Machine& machine,
                          const surface::ChanceInterval& interval, const ChanceOf& chance,
                          const shop::Acceptance& acceptance);

/// True when the setting lies more than half the log-width outside what was burned of the surface `name`
/// (surface::surface_name), or nothing was.
bool beyond_tried(const surface::ShopEvidence& evidence, const std::string& name,
                  const surface::PhysicalSetting& setting);

/// Fewer than this many graded swatches of a glass say little.
inline constexpr int kFewSwatches = 12;

}  // namespace frostcal::choice
