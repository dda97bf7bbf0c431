#include "surface/lack_of_fit.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "errors/bug.hpp"

namespace frostcal::surface {
namespace {

double excess_of(const std::vector<GradeResidual>& residuals, const std::vector<std::size_t>& members) {
  double excess = 0;
  double variance = 0;
  for (const std::size_t i : members) {
    excess += residuals[i].surprise - residuals[i].surprise_mean;
    variance += residuals[i].surprise_variance;
  }
  // A grade that was nearly certain has almost no variance; 0.05 is that of an event of probability 0.006.
  return excess / std::sqrt(std::max(variance, 0.05 * static_cast<double>(members.size())));
}

}  // namespace

LackOfFit lack_of_fit(const SurfaceBasis& basis, const std::vector<const Observation*>& swatches,
                      const std::vector<GradeResidual>& residuals) {
  const std::size_t n = swatches.size();
  FROSTCAL_ASSERT(n == residuals.size() && n >= kFewestNeighbours, "lack of fit: too few grades");
  std::vector<PhysicalSetting> settings;
  for (const Observation* o : swatches) settings.push_back(o->setting);
  const Eigen::Matrix3Xd u = basis.coordinates_of(settings).topRows(3);
  const std::size_t size = std::max(kFewestNeighbours, n / 5);
  std::vector<std::size_t> order(n);
  std::iota(order.begin(), order.end(), std::size_t{0});
  LackOfFit lack;
  lack.overall = excess_of(residuals, order);
  for (std::size_t i = 0; i < n; ++i) {
    const Eigen::Vector3d centre = u.col(static_cast<Eigen::Index>(i));
    const Eigen::VectorXd distance = (u.colwise() - centre).colwise().squaredNorm().transpose();
    std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
      const double to_a = distance(static_cast<Eigen::Index>(a));
      const double to_b = distance(static_cast<Eigen::Index>(b));
      return to_a < to_b || (to_a == to_b && a < b);
    });
    const std::vector<std::size_t> near(order.begin(), order.begin() + static_cast<std::ptrdiff_t>(size));
    const double excess = excess_of(residuals, near);
    if (i > 0 && !(excess > lack.local)) continue;
    lack.local = excess;
    lack.swatches.clear();
    for (const std::size_t k : near) lack.swatches.push_back(residuals[k].swatch);
  }
  return lack;
}

}  // namespace frostcal::surface
