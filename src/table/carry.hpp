// A starting setting for a glass on a machine that it was never burned on, from what another machine taught.
//
// Surfaces live in W, mm/s and mm, so the surface of the glass on one machine can be asked about the settings
// of another. With spot diameters w and w', r = w' / w, the setting (P, v, pitch) of the new machine is asked
// about as (P / r^2, v / r, pitch / r) of the old one: the only scaling that keeps the mean dose P / (v
// pitch), the peak temperature rise of a fast moving Gaussian beam, which goes as P / (w^1.5 v^0.5) (limit of
// Cline & Anthony, J. Appl. Phys. 48, 3895 (1977)), and the overlap of the lines, pitch / w. The heated
// depth, which goes as sqrt(P / v), it cannot keep.
//
// Measured on hidden glasses with 48 swatches each, carried to a machine of another wattage, top speed, spot
// and dpi list: seeds 400 to 406 of the simulator, on which the scaling was chosen, lost 0.03 of the best
// chance on average and 0.15 at worst (without the scaling 0.27 and 0.88); seeds 450 to 454, new to it, 0.014
// and 0.033.
//
// A carried setting is a start, in force until adopting another one is supported: table::replaces and
// table::Elsewhere (adoption.hpp) are the rule. On 40 further glasses (seeds 930 to 969, 36 swatches on the
// first machine; decision_benchmark --what carry) it lost 0.039 on average; the best setting of the second
// machine's own fit 0.108 after a targeted twelve there, 0.048 after six and twelve; the rule 0.039 then.
//
// Surfaces are those of the machines as they are now. Where the old one lost power since its first graded
// day, its settings stand that much higher than a fresh machine's: `delivered` is the share of its power that
// it still delivers, over that of the new one.
//
// What it can't know is taken as one doubt about the delivered power, normal in ln W: kPowerDoubt for each
// rated power (common practice, no source: tubes are sold by a nominal figure and age), and kSpotDoubt * ln
// r, which is as much as the heated depth changes.
#pragma once

#include <optional>
#include <string>

#include "choice/decision.hpp"
#include "shop/machine.hpp"
#include "shop/setting.hpp"
#include "shop/shop.hpp"
#include "surface/glass_surface.hpp"
#include "surface/shop_observations.hpp"
#include "surface/shop_surface.hpp"

namespace frostcal::table {

inline constexpr double kPowerDoubt = 0.10;
inline constexpr double kSpotDoubt = 0.5;

/// The machine other than `to` on which the glass has most graded swatches and pieces; null when it has none
/// elsewhere.
const shop::Machine* teaching_machine(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                                      const std::string& glass, const std::string& to);

/// What `from` delivers now of what it did on its first graded day, by its trend, over the same of `to`; 1
/// where neither has a trend.
double delivered_share(const surface::ShopSurface& surfaces, const shop::Machine& from,
                       const shop::Machine& to);

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

/// The setting with that chance and interval, its tolerances under the same doubt.
choice::Decision carried_decision(const surface::GlassSurface& learned, const shop::Setting& setting,
                                  const shop::Machine& from, const shop::Machine& to,
                                  const shop::Acceptance& acceptance, double delivered = 1);

/// The setting of `to` with the highest such chance.
std::optional<shop::Setting> carried_by_surface(const surface::GlassSurface& learned,
                                                const shop::Machine& from, const shop::Machine& to,
                                                double delivered = 1);

}  // namespace frostcal::table
