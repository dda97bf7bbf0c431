// Log coordinates that follow the physics, and the fixed set of features the latent surfaces are made of.
#pragma once

#include <Eigen/Core>
#include <array>
#include <map>
#include <vector>

#include "surface/observation.hpp"

namespace frostcal::surface {

/// The centre of the log coordinates: the geometric middle of the machine's ranges, in physical units, and
/// how far the ranges reach from it. One for a shop, so that its machines can be compared.
struct CoordinateCentre {
  double power_w = 0;
  double speed_mm_s = 0;
  double pitch_mm = 0;
  double log_half_power = 1.5;  // ln(max / min) / 2: 5 % to 100 % is 1.498
  double log_half_speed = 1.5;
  double log_half_pitch = 0.55;  // 200 to 600 dpi is 0.549
};

/// u = (ln dose, ln heat, ln pitch, ln tone), each less its centre and divided by (0.7, 0.7, 0.5, 0.5):
///   ln dose = ln P + ln tone + ln passes - ln v - ln pitch   mean energy per area, from its definition
///   ln heat = ln P - 0.5 ln v   peak temperature of a fast-moving Gaussian source (H. E. Cline and
///                               T. R. Anthony, J. Appl. Phys. 48 (1977) 3895-3900, fast limit)
/// Tone counts in the dose but not in the heat: a dotted tone makes fewer dots, not cooler ones.
using Coordinates = Eigen::Vector4d;

inline constexpr double kDoseScale = 0.7;
inline constexpr double kHeatScale = 0.7;
inline constexpr double kPitchScale = 0.5;
inline constexpr double kToneScale = 0.5;

/// Requires positive finite power, speed, pitch, tone and at least one pass (errors::Bug otherwise).
Coordinates coordinates(const PhysicalSetting& setting, const CoordinateCentre& centre);

/// Polynomial features: 1, u1, u2, u3, u1^2, u2^2, u3^2, u1 u2, u1 u3, u2 u3, u4, u4^2, u1 u4, u3 u4.
inline constexpr int kPolynomialFeatures = 14;

/// Length scales of the smooth discrepancy in (u1, u2, u3).
inline constexpr int kLengthChoices = 6;
inline constexpr std::array<std::array<double, 3>, kLengthChoices> kLengths{
    {{0.5, 0.8, 1.0}, {0.7, 1.0, 1.2}, {1.0, 1.5, 1.5}, {1.5, 1.5, 2.0}, {0.7, 1.5, 2.0}, {0.5, 1.5, 1.5}}};

/// The features of one shop: the polynomial and, per choice of length scales, a finite representation of a
/// Gaussian process with squared-exponential covariance exp(-sum ((u - u') / length)^2 / 2): psi(u) = L^-1
/// k(Z, u) with L L' = k(Z, Z), so that psi(u)' psi(u') is the Nystroem approximation. The points Z are
/// chosen by pivoted Cholesky over a lattice of the machine's own ranges.
class SurfaceBasis {
 public:
  /// About 5 ms; make it once and share it between fits of one shop.
  explicit SurfaceBasis(const CoordinateCentre& centre, int max_discrepancy_features = 48);

  const CoordinateCentre& centre() const { return centre_; }
  /// Polynomial and discrepancy features together for one choice of length scales.
  int features(int length_choice) const;
  /// One row per column of u (4 x n): n x features(length_choice). dose_shift is subtracted from u1 first.
  Eigen::MatrixXd evaluate(const Eigen::Matrix4Xd& u, int length_choice, double dose_shift = 0) const;
  /// evaluate(u, length_choice, dose_shift[j]) * weights.col(j) in column j: n x weights.cols(). One set of
  /// exponentials serves all columns, so this is much cheaper than the features themselves.
  Eigen::MatrixXd combine(const Eigen::Matrix4Xd& u, int length_choice, const Eigen::VectorXd& dose_shift,
                          const Eigen::MatrixXd& weights) const;
  Eigen::Matrix4Xd coordinates_of(const std::vector<PhysicalSetting>& settings) const;

  /// k(u, Z), n x m: what evaluate() of these places needs exponentials for.
  Eigen::MatrixXd covariance_with_points(const Eigen::Matrix4Xd& u, int length_choice,
                                         double dose_shift = 0) const;
  /// evaluate(u, length_choice, dose_shift) from covariance_with_points(u, length_choice). In units of the
  /// length scale a shift s of u1 multiplies k(u, z) by exp(s (u1 - z1) - s^2 / 2), a factor of u and one of
  /// z.
  Eigen::MatrixXd evaluate_from(const Eigen::MatrixXd& covariance, const Eigen::Matrix4Xd& u,
                                int length_choice, double dose_shift) const;

 private:
  struct Discrepancy {
    Eigen::Matrix3Xd points;   // 3 x m, divided by the length scales
    Eigen::MatrixXd cholesky;  // m x m lower
  };
  CoordinateCentre centre_;
  std::array<Discrepancy, kLengthChoices> discrepancy_;
};

/// The features of some places under several length scales and shifts: exponentials are computed once for
/// each choice of length scales. Holds on to the basis.
class FeatureBlock {
 public:
  FeatureBlock(const SurfaceBasis& basis, Eigen::Matrix4Xd u) : basis_(basis), u_(std::move(u)) {}
  const Eigen::Matrix4Xd& u() const { return u_; }
  /// n x features.
  Eigen::MatrixXd evaluate(int length_choice, double dose_shift);

 private:
  const SurfaceBasis& basis_;
  Eigen::Matrix4Xd u_;
  std::map<int, Eigen::MatrixXd> covariance_;
};

}  // namespace frostcal::surface
