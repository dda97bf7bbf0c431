#include "surface/grade_residuals.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "errors/bug.hpp"
#include "numerics/normal_tail.hpp"

namespace frostcal::surface {
namespace {

constexpr double kLeastProbability = 1e-12;
constexpr double kMostSurprise = 3;  // P = 0.05: a single wild grade says little of the surface

using RowKey = std::tuple<double, double, double, double, int, int, int, int, int, int, int>;

RowKey key_of(const Coordinates& u, const Occasion& o, int grade) {
  return {u(0), u(1), u(2), u(3), o.bottle, o.burn, o.grader, o.day, o.trend, o.days_ago, grade};
}

std::map<RowKey, std::size_t> index_rows(const ResponseRows& rows) {
  std::map<RowKey, std::size_t> index;
  for (std::size_t i = 0; i < rows.cell.size(); ++i) {
    if (rows.lowest[i] != rows.highest[i]) continue;  // a range has no residual
    const int cell = rows.cell[i];
    index[key_of(rows.u.col(cell), rows.occasions[static_cast<std::size_t>(cell)], rows.lowest[i])] = i;
  }
  return index;
}

double probability(const Eigen::VectorXd& cdf, Eigen::Index grade) {
  const double upto = grade < cdf.size() ? cdf(grade) : 1.0;
  return std::max(kLeastProbability, upto - (grade > 0 ? cdf(grade - 1) : 0.0));
}

GradeRange range_of(const Observation& o, Response response) {
  return response == Response::frost ? o.frost : o.chipping;
}

GradeResidual residual_of(const Observation& o, int grade, const Eigen::VectorXd& cdf) {
  GradeResidual r;
  r.swatch = o.swatch;
  const Eigen::Index top = cdf.size();
  for (Eigen::Index j = 0; j <= top; ++j) {
    const double p = probability(cdf, j);
    r.expected += p * static_cast<double>(j);
    const double surprise = std::min(-std::log(p), kMostSurprise);
    r.surprise_mean += p * surprise;
    r.surprise_variance += p * surprise * surprise;
    if (j == grade) r.surprise = surprise;
  }
  r.surprise_variance -= r.surprise_mean * r.surprise_mean;
  r.lower = grade > 0 ? cdf(grade - 1) : 0;
  r.upper = grade < top ? cdf(grade) : 1;
  r.score = numerics::normal_quantile(std::clamp(0.5 * (r.lower + r.upper), 1e-9, 1 - 1e-9));
  return r;
}

}  // namespace

int grade_of(const Observation& o, Response response) {
  return range_of(o, response).lowest;
}

std::vector<const Observation*> graded(const GlassSurface& surface, Response response,
                                       const std::vector<Observation>& observations) {
  std::vector<const Observation*> out;
  for (const Observation& o : observations) {
    const GradeRange grade = range_of(o, response);
    if (o.glass != surface.glass() || !(o.weight > 0) || grade == kNotGraded) continue;
    if (grade.is_plain()) out.push_back(&o);
  }
  return out;
}

std::vector<GradeResidual> grade_residuals(const GlassSurface& surface, Response response,
                                           const std::vector<Observation>& observations) {
  const std::map<RowKey, std::size_t> rows = index_rows(surface.rows().rows(response));
  const Eigen::MatrixXd& left_out = surface.posterior(response).left_out;
  std::vector<GradeResidual> residuals;
  for (const Observation* o : graded(surface, response, observations)) {
    const int grade = grade_of(*o, response);
    const Coordinates u = coordinates(o->setting, surface.basis().centre());
    const auto row = rows.find(key_of(u, occasion_of(surface.rows(), *o), grade));
    FROSTCAL_ASSERT(row != rows.end(), "grade_residuals: a grade that the surface was not fitted to");
    residuals.push_back(residual_of(*o, grade, left_out.row(static_cast<Eigen::Index>(row->second))));
  }
  return residuals;
}

}  // namespace frostcal::surface
