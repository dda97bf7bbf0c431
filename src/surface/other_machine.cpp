#include "surface/other_machine.hpp"

#include <array>
#include <cmath>

#include "numerics/stable_log.hpp"
#include "surface/glass_sketch.hpp"

namespace frostcal::surface {
namespace {

/// Share of a surface's prior variance that both machines have in common, by setting of the scales.
constexpr std::array<double, 4> kInCommon{0.995, 0.99, 0.995, 0.99};
constexpr double kSameProbability = 0.85;  // prior probability that the glass answers there as here
constexpr std::array<double, 5> kPowers{-1.6, -0.8, 0, 0.8, 1.6};  // in units of the doubt

Eigen::Vector4d translation(const MachineMove& move, double ln_power) {
  const double ln_spot = std::log(move.spot_ratio);
  const double power = std::log(move.delivered) + ln_power;
  return {power / kDoseScale, (1.5 * ln_spot + power) / kHeatScale, ln_spot / kPitchScale, 0};
}

GlassRows moved(const GlassRows& there, const Eigen::Vector4d& by, const SurfaceBasis& basis, Link link) {
  GlassRows rows = there;
  rows.frost.u.colwise() += by;
  rows.chipping.u.colwise() += by;
  if (rows.slope_weights[0].size() > 0) add_slopes(rows, basis, link);
  return rows;
}

}  // namespace

double MachineMove::power_doubt() const {
  const double spot = kSpotDoubt * std::log(spot_ratio);
  return std::sqrt(2 * kPowerDoubt * kPowerDoubt + spot * spot);
}

PhysicalSetting as_burned_there(PhysicalSetting setting, const MachineMove& move) {
  setting.power_w /= move.spot_ratio * move.spot_ratio * move.delivered;
  setting.speed_mm_s /= move.spot_ratio;
  setting.pitch_mm /= move.spot_ratio;
  return setting;
}

OtherMachine::OtherMachine(const GlassRows& there, const MachineMove& move, const SurfaceBasis& basis,
                           Link link, std::uint64_t seed)
    : basis_(basis), link_(link), seed_(seed) {
  double total = 0;
  for (const double z : kPowers) total += std::exp(-0.5 * z * z);
  for (const double z : kPowers) {
    moved_.push_back({moved(there, translation(move, z * move.power_doubt()), basis, link),
                      std::exp(-0.5 * z * z) / total});
  }
}

PriorCandidates OtherMachine::candidates(Response response, const PriorCandidates& others) const {
  std::vector<PooledSetting> settings;
  const int count = static_cast<int>(kInCommon.size());
  const std::vector<ScaleSetting> scales = scale_settings(response, count, seed_ + 1);
  for (std::size_t k = 0; k < kInCommon.size(); ++k) settings.push_back({scales[k], kInCommon[k]});
  PriorCandidates out = others;
  out.leave(1 - kSameProbability);
  for (const Moved& moved : moved_) {
    const std::vector<PoolMessage> messages =
        messages_of(response, link_, moved.rows, basis_, settings, 0, {});
    Eigen::VectorXd favour(count);
    for (int k = 0; k < count; ++k) favour(k) = messages[static_cast<std::size_t>(k)].log_evidence;
    favour.array() -= numerics::log_sum_exp(favour);
    for (std::size_t k = 0; k < settings.size(); ++k) {
      out.add(settings[k].scales, prior_by({&messages[k]}, response, settings[k], basis_),
              std::log(kSameProbability * moved.share) + favour(static_cast<Eigen::Index>(k)));
    }
  }
  return out;
}

}  // namespace frostcal::surface
