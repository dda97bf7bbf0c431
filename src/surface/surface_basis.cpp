#include "surface/surface_basis.hpp"

#include <cmath>

#include "errors/bug.hpp"

namespace frostcal::surface {
namespace {

constexpr int kLatticePower = 9;
constexpr int kLatticeSpeed = 9;
constexpr int kLatticePitch = 5;
constexpr double kResidualFloor = 1e-3;  // prior variance left over that isn't worth another feature

/// Lattice over the machine's ranges, equally spaced in logs, as (u1, u2, u3).
Eigen::Matrix3Xd machine_lattice(const CoordinateCentre& centre) {
  Eigen::Matrix3Xd lattice(3, kLatticePower * kLatticeSpeed * kLatticePitch);
  int column = 0;
  for (int i = 0; i < kLatticePower; ++i) {
    const double power = centre.log_half_power * (2.0 * i / (kLatticePower - 1) - 1);
    for (int j = 0; j < kLatticeSpeed; ++j) {
      const double speed = centre.log_half_speed * (2.0 * j / (kLatticeSpeed - 1) - 1);
      for (int k = 0; k < kLatticePitch; ++k) {
        const double pitch = centre.log_half_pitch * (2.0 * k / (kLatticePitch - 1) - 1);
        lattice.col(column++) << (power - speed - pitch) / kDoseScale, (power - 0.5 * speed) / kHeatScale,
            pitch / kPitchScale;
      }
    }
  }
  return lattice;
}

Eigen::VectorXd kernel_column(const Eigen::Matrix3Xd& points, const Eigen::Vector3d& at) {
  return (-0.5 * (points.colwise() - at).colwise().squaredNorm().transpose()).array().exp().matrix();
}

Eigen::MatrixXd polynomial(const Eigen::Matrix4Xd& u, double dose_shift) {
  const Eigen::ArrayXd u1 = u.row(0).transpose().array() - dose_shift;
  const Eigen::ArrayXd u2 = u.row(1).transpose();
  const Eigen::ArrayXd u3 = u.row(2).transpose();
  const Eigen::ArrayXd u4 = u.row(3).transpose();
  Eigen::MatrixXd f(u.cols(), kPolynomialFeatures);
  f << Eigen::VectorXd::Ones(u.cols()), u1, u2, u3, u1.square(), u2.square(), u3.square(), u1 * u2, u1 * u3,
      u2 * u3, u4, u4.square(), u1 * u4, u3 * u4;
  return f;
}

}  // namespace

Coordinates coordinates(const PhysicalSetting& s, const CoordinateCentre& centre) {
  FROSTCAL_ASSERT(s.power_w > 0 && s.speed_mm_s > 0 && s.pitch_mm > 0 && s.tone > 0 && s.passes >= 1,
                  "coordinates: a setting must be positive");
  const double power = std::log(s.power_w / centre.power_w);
  const double speed = std::log(s.speed_mm_s / centre.speed_mm_s);
  const double pitch = std::log(s.pitch_mm / centre.pitch_mm);
  const double tone = std::log(s.tone);
  Coordinates u((power + tone + std::log(static_cast<double>(s.passes)) - speed - pitch) / kDoseScale,
                (power - 0.5 * speed) / kHeatScale, pitch / kPitchScale, tone / kToneScale);
  FROSTCAL_ASSERT(u.allFinite(), "coordinates: a setting must be finite");
  return u;
}

SurfaceBasis::SurfaceBasis(const CoordinateCentre& centre, int max_discrepancy_features) : centre_(centre) {
  FROSTCAL_ASSERT(centre.power_w > 0 && centre.speed_mm_s > 0 && centre.pitch_mm > 0,
                  "SurfaceBasis: the centre must be positive");
  const Eigen::Matrix3Xd lattice = machine_lattice(centre);
  for (int choice = 0; choice < kLengthChoices; ++choice) {
    const Eigen::Vector3d length(kLengths[choice][0], kLengths[choice][1], kLengths[choice][2]);
    const Eigen::Matrix3Xd scaled = length.cwiseInverse().asDiagonal() * lattice;
    Eigen::VectorXd left = Eigen::VectorXd::Ones(scaled.cols());
    Eigen::MatrixXd rows(scaled.cols(), max_discrepancy_features);
    std::vector<Eigen::Index> pivots;
    while (static_cast<int>(pivots.size()) < max_discrepancy_features) {
      Eigen::Index pivot = 0;
      const double most = left.maxCoeff(&pivot);
      if (most < kResidualFloor) break;
      const Eigen::Index k = static_cast<Eigen::Index>(pivots.size());
      Eigen::VectorXd column = kernel_column(scaled, scaled.col(pivot));
      if (k > 0) column.noalias() -= rows.leftCols(k) * rows.row(pivot).head(k).transpose();
      rows.col(k) = column / std::sqrt(most);
      left -= rows.col(k).cwiseAbs2();
      pivots.push_back(pivot);
    }
    const Eigen::Index m = static_cast<Eigen::Index>(pivots.size());
    Discrepancy& d = discrepancy_[choice];
    d.points.resize(3, m);
    d.cholesky = Eigen::MatrixXd::Zero(m, m);
    for (Eigen::Index k = 0; k < m; ++k) {
      d.points.col(k) = scaled.col(pivots[k]);
      d.cholesky.row(k).head(k + 1) = rows.row(pivots[k]).head(k + 1);
    }
  }
}

int SurfaceBasis::features(int length_choice) const {
  return kPolynomialFeatures + static_cast<int>(discrepancy_[length_choice].points.cols());
}

Eigen::Matrix4Xd SurfaceBasis::coordinates_of(const std::vector<PhysicalSetting>& settings) const {
  Eigen::Matrix4Xd u(4, settings.size());
  for (std::size_t i = 0; i < settings.size(); ++i) {
    u.col(static_cast<Eigen::Index>(i)) = coordinates(settings[i], centre_);
  }
  return u;
}

Eigen::MatrixXd SurfaceBasis::covariance_with_points(const Eigen::Matrix4Xd& u, int length_choice,
                                                     double dose_shift) const {
  const Discrepancy& d = discrepancy_[length_choice];
  const auto& length = kLengths[length_choice];
  const Eigen::ArrayXd u1 = (u.row(0).transpose().array() - dose_shift) / length[0];
  const Eigen::ArrayXd u2 = u.row(1).transpose().array() / length[1];
  const Eigen::ArrayXd u3 = u.row(2).transpose().array() / length[2];
  Eigen::MatrixXd kernel(u.cols(), d.points.cols());
  for (Eigen::Index k = 0; k < kernel.cols(); ++k) {
    kernel.col(k) = (-0.5 * ((u1 - d.points(0, k)).square() + (u2 - d.points(1, k)).square() +
                             (u3 - d.points(2, k)).square()))
                        .exp();
  }
  return kernel;
}

Eigen::MatrixXd SurfaceBasis::evaluate(const Eigen::Matrix4Xd& u, int length_choice,
                                       double dose_shift) const {
  return evaluate_from(covariance_with_points(u, length_choice), u, length_choice, dose_shift);
}

Eigen::MatrixXd SurfaceBasis::evaluate_from(const Eigen::MatrixXd& covariance, const Eigen::Matrix4Xd& u,
                                            int length_choice, double dose_shift) const {
  const Discrepancy& d = discrepancy_[length_choice];
  const Eigen::Index m = d.points.cols();
  Eigen::MatrixXd f(u.cols(), kPolynomialFeatures + m);
  f.leftCols(kPolynomialFeatures) = polynomial(u, dose_shift);
  const double s = dose_shift / kLengths[length_choice][0];
  if (s == 0) {
    f.rightCols(m) = covariance;
  } else {
    const Eigen::VectorXd of_u = (s / kLengths[length_choice][0] * u.row(0).transpose().array()).exp();
    const Eigen::VectorXd of_z = (-s * d.points.row(0).transpose().array() - 0.5 * s * s).exp();
    f.rightCols(m) = of_u.asDiagonal() * covariance * of_z.asDiagonal();
  }
  auto discrepancy = f.rightCols(m);
  d.cholesky.transpose().triangularView<Eigen::Upper>().solveInPlace<Eigen::OnTheRight>(discrepancy);
  return f;
}

Eigen::MatrixXd FeatureBlock::evaluate(int length_choice, double dose_shift) {
  auto known = covariance_.find(length_choice);
  if (known == covariance_.end()) {
    known = covariance_.emplace(length_choice, basis_.covariance_with_points(u_, length_choice)).first;
  }
  return basis_.evaluate_from(known->second, u_, length_choice, dose_shift);
}

Eigen::MatrixXd SurfaceBasis::combine(const Eigen::Matrix4Xd& u, int length_choice,
                                      const Eigen::VectorXd& dose_shift,
                                      const Eigen::MatrixXd& weights) const {
  // psi(u)' w = k(Z, u)' L^-T w. The middle shift is taken into k itself to keep the shifts' factors
  // moderate.
  const Discrepancy& d = discrepancy_[length_choice];
  const double length = kLengths[length_choice][0];
  const double middle = 0.5 * (dose_shift.minCoeff() + dose_shift.maxCoeff());
  const Eigen::ArrayXd u1 = (u.row(0).transpose().array() - middle) / length;
  const Eigen::ArrayXd z1 = d.points.row(0).transpose();
  Eigen::MatrixXd at_points = weights.bottomRows(d.points.cols());
  d.cholesky.triangularView<Eigen::Lower>().transpose().solveInPlace(at_points);
  for (Eigen::Index j = 0; j < weights.cols(); ++j) {
    const double s = (dose_shift(j) - middle) / length;
    if (s != 0) at_points.col(j).array() *= (-s * z1 - 0.5 * s * s).exp();
  }
  Eigen::MatrixXd values = covariance_with_points(u, length_choice, middle) * at_points;
  for (Eigen::Index j = 0; j < weights.cols(); ++j) {
    const double s = (dose_shift(j) - middle) / length;
    if (s != 0) values.col(j).array() *= (s * u1).exp();
    values.col(j) += polynomial(u, dose_shift(j)) * weights.col(j).head(kPolynomialFeatures);
  }
  return values;
}

}  // namespace frostcal::surface
