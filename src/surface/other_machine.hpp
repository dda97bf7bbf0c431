// What the grades of a glass on one machine say of the same glass on another.
//
// Surfaces live in W, mm/s and mm, so the surface of one machine can be asked about the settings of another.
// With spot diameters w and w', r = w' / w, the setting (P, v, pitch) of the new machine is asked about as
// (P / r^2, v / r, pitch / r) of the old one: the only scaling that keeps the mean dose P / (v pitch), the
// peak temperature rise of a fast moving Gaussian beam, which goes as P / (w^1.5 v^0.5) (limit of Cline &
// Anthony, J. Appl. Phys. 48, 3895 (1977)), and the overlap of the lines, pitch / w. The heated depth, which
// goes as sqrt(P / v), it cannot keep. In log coordinates it is a translation.
//
// What it can't know is taken as one doubt about the delivered power, normal in ln W: kPowerDoubt for each
// rated power (common practice, no source: tubes are sold by a nominal figure and age), and kSpotDoubt * ln
// r, which is as much as the heated depth changes.
//
// A glass that was burned on another machine is offered priors that have nearly everything in common with the
// surface there, moved by the spots and by several powers within that doubt, beside those that any glass
// gets (pooling.hpp). Its evidence weighs them: where the machines disagree the others win.
#pragma once

#include <cstdint>
#include <vector>

#include "surface/pooling.hpp"

namespace frostcal::surface {

inline constexpr double kPowerDoubt = 0.10;
inline constexpr double kSpotDoubt = 0.5;

/// From one machine to another.
struct MachineMove {
  double spot_ratio = 1;  // new spot diameter over the old one
  double delivered = 1;   // delivered_share() of the old one
  /// Standard deviation of ln(power) that is added on the way.
  double power_doubt() const;
};

/// The setting of the new machine as the old one would have to burn it for the same effect.
PhysicalSetting as_burned_there(PhysicalSetting setting, const MachineMove& move);

class OtherMachine {
 public:
  /// `there`: the rows of the glass on the old machine.
  OtherMachine(const GlassRows& there, const MachineMove& move, const SurfaceBasis& basis, Link link,
               std::uint64_t seed);

  /// `others` with the candidates that the old machine gives.
  PriorCandidates candidates(Response response, const PriorCandidates& others) const;

 private:
  struct Moved {
    GlassRows rows;
    double share = 0;  // prior probability of this power
  };
  std::vector<Moved> moved_;
  const SurfaceBasis& basis_;
  Link link_;
  std::uint64_t seed_;
};

}  // namespace frostcal::surface
