// A starting setting for a glass on a machine that it was never burned on, from what another machine taught.
//
// The machines are matched as surface/other_machine.hpp says, and its doubt about power is added.
//
// Measured on hidden glasses with 48 swatches each, carried to a machine of another wattage, top speed, spot
// and dpi list: seeds 400 to 406 of the simulator, on which the scaling was chosen, lost 0.03 of the best
// chance on average and 0.15 at worst (without the scaling 0.27 and 0.88); seeds 450 to 454, new to it, 0.014
// and 0.033.
//
// A carried setting is a start, in force until adopting another one is supported: table::replaces
// (adoption.hpp) is the rule (decision_benchmark --what carry).
//
// Surfaces are those of the machines as they are now. Where the old one lost power since its first graded
// day, its settings stand that much higher than a fresh machine's: `delivered` is the share of its power that
// it still delivers, over that of the new one.
#pragma once

#include <optional>
#include <string>

#include "choice/decision.hpp"
#include "shop/machine.hpp"
#include "shop/setting.hpp"
#include "shop/shop.hpp"
#include "surface/glass_surface.hpp"
#include "surface/other_machine.hpp"
#include "surface/shop_observations.hpp"
#include "surface/shop_surface.hpp"
#include "table/batch_chance.hpp"

namespace frostcal::table {

/// The machine other than `to` on which the glass has most graded swatches and pieces; null when it has none
/// elsewhere.
const shop::Machine* teaching_machine(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                                      const std::string& glass, const std::string& to);

/// As surface::delivered_share.
double delivered_share(const surface::ShopSurface& surfaces, const shop::Machine& from,
                       const shop::Machine& to);

surface::MachineMove move_between(const shop::Machine& from, const shop::Machine& to, double delivered);

/// Standard deviation of ln(power) that is added when going from one machine to the other.
double carry_doubt(const shop::Machine& from, const shop::Machine& to);

/// What the carried setting means next to the one it comes from: new over old.
struct CarryRatios {
  double dose = 1;   // P tone / (v pitch)
  double heat = 1;   // P / (w^1.5 v^0.5): what the peak temperature rise goes with
  double pitch = 1;  // pitch / w
};
CarryRatios carry_ratios(const shop::Setting& old_setting, const shop::Machine& from,
                         const shop::Setting& new_setting, const shop::Machine& to);

/// The setting of `to` in physical units as `from` would have to burn it for the same effect: scaled by the
/// spots as above.
surface::PhysicalSetting as_burned_on(const shop::Setting& setting, const shop::Machine& from,
                                      const shop::Machine& to, double delivered = 1);

/// The setting of `to` that is nearest to the old one: least sum of squares of ln dose, ln heat and ln pitch
/// ratios, of all that `to` accepts at the old tone (or the nearest it has), passes kept, screen kept if `to`
/// has it. Nothing when the dose limit forbids everything.
std::optional<shop::Setting> carried_by_dials(const shop::Setting& old_setting, const shop::Machine& from,
                                              const shop::Machine& to);

/// Chance of a setting of `to` on the surface learned on `from`, with the doubt added: mean over power
/// (three-point Gauss-Hermite) and an interval over both the drawn surfaces and the doubt.
surface::ChanceInterval carried_chance(const surface::GlassSurface& learned, const shop::Setting& setting,
                                       const shop::Machine& from, const shop::Machine& to,
                                       double delivered = 1);

/// The same of a bottle that gets these settings of the new machine, several where it tapers
/// (GlassSurface::drawn_chance_of_all).
surface::ChanceInterval carried_chance(const surface::GlassSurface& learned,
                                       const std::vector<surface::PhysicalSetting>& places,
                                       const surface::MachineMove& move);

/// As drawn_batch, with the doubt added: all bottles of a batch share it.
DrawnChance carried_batch(const surface::GlassSurface& learned,
                          const std::vector<surface::PhysicalSetting>& places,
                          const surface::MachineMove& move);

/// The setting with that chance and interval, its tolerances under the same doubt.
choice::Decision carried_decision(const surface::GlassSurface& learned, const shop::Setting& setting,
                                  const shop::Machine& from, const shop::Machine& to,
                                  const shop::Acceptance& acceptance, double delivered = 1);

/// What to begin with on a machine, by another that knows the glass.
struct CarriedSetting {
  bool by_surface = false;               // else by the dials of the row in force there
  std::optional<shop::Setting> setting;  // nothing where `to` accepts none, or nothing is known
  double delivered = 1;                  // delivered_share
};

/// By the surface where `from` has choice::kFewSwatches graded swatches of the glass, or no row in force and
/// anything at all; else by the dials of `row`, what is in force there.
CarriedSetting carried_setting(const surface::ShopEvidence& evidence, const surface::ShopSurface& surfaces,
                               const std::string& glass, const shop::Machine& from, const shop::Machine& to,
                               const std::optional<SettingsRow>& row);

/// The setting of `to` with the highest such chance.
std::optional<shop::Setting> carried_by_surface(const surface::GlassSurface& learned,
                                                const shop::Machine& from, const shop::Machine& to,
                                                double delivered = 1);

}  // namespace frostcal::table
