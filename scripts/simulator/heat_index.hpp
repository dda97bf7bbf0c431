// What a moving beam does to glass, to the order that a simulation needs. Units: W, mm, s, K, J.
// The "index" has the unit of a temperature but is no temperature: real glass leaves the linear model at
// 2000 to 3000 K (softening, ejection). It orders settings; each glass has thresholds on its scale.
#pragma once

namespace frostcal::simulator {

/// Soda-lime glass, rounded from catalogue values (conductivity and heat capacity at room temperature;
/// absorbed fraction from the refractive index at 10.6 um of Rubin, Sol. Energy Mater. 12, 275 (1985)).
inline constexpr double kAbsorbed = 0.841;
inline constexpr double kConductivity = 1.0e-3;                        // W/(mm K)
inline constexpr double kHeatCapacity = 2.0e-3;                        // J/(mm3 K)
inline constexpr double kDiffusivity = kConductivity / kHeatCapacity;  // mm2/s

/// Largest surface rise under a Gaussian source of 1/e^2 radius `radius_mm` moving at `speed_mm_s` over a
/// half-space: A P / (sqrt(2 pi) k w) * theta(Pe), Pe = v w / (4 D). theta is blended between its slow limit
/// 1 and its fast limit 0.81475 / sqrt(Pe) with exponent 1.946, within 0.2 % of the integral of Cline &
/// Anthony, J. Appl. Phys. 48, 3895 (1977) for 1e-3 < Pe < 3e3.
double peak_index(double power_w, double speed_mm_s, double radius_mm);

/// theta(Pe) of the line above.
double relative_peak(double peclet);

/// Depth that is heated by `rise_k` after the pass of a fast line source: sqrt(2 A P / (pi e rho c v dT))
/// (Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed., ch. 10: instantaneous line source).
double heated_depth_mm(double power_w, double speed_mm_s, double rise_k);

/// Ripple (max - min) / (max + min) of parallel Gaussian lines: first Fourier term 2 exp(-pi^2 w^2 / (2
/// p^2)), at most 1.
double line_ripple(double radius_mm, double pitch_mm);

}  // namespace frostcal::simulator
