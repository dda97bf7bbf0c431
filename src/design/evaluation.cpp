#include "design/evaluation.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "errors/bug.hpp"
#include "numerics/normal_tail.hpp"
#include "numerics/quadratic_form.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::design {

namespace {

constexpr double kSingular = 1e-6;

double power_of(double standard_deviation) {
  const double limit = numerics::normal_quantile(0.975);
  const double shift = 1 / standard_deviation;
  return numerics::normal_cdf(shift - limit) + numerics::normal_cdf(-shift - limit);
}

int distinct_levels(const Eigen::VectorXd& coded) {
  std::set<long> levels;
  for (Eigen::Index i = 0; i < coded.size(); ++i) levels.insert(std::lround(coded(i) * 1e6));
  return static_cast<int>(levels.size());
}

// Why the terms of the model can't be told apart.
std::string lacking_in(const Eigen::MatrixXd& coded, const DialRegion& region) {
  const QuadraticModel model = region.model();
  const std::vector<std::string> names = region.names();
  for (int factor = 0; factor < region.factors(); ++factor) {
    const std::string& name = names[static_cast<std::size_t>(factor)];
    const int levels = distinct_levels(coded.col(factor));
    if (levels == 1) return name + " at one value only";
    if (levels == 2 && model.squared[static_cast<std::size_t>(factor)])
      return name + " at two values: no curve";
  }
  if (coded.rows() < model.terms())
    return textfile::counted(static_cast<int>(coded.rows()), "swatch", "swatches") + " for " +
           std::to_string(model.terms()) + " terms";
  return "its settings leave terms mixed";
}

// Share of the whole log range of power or speed between the lowest and the highest of the settings,
// whichever is less.
double covered_share(const std::vector<Swatch>& swatches, const shop::Machine& machine,
                     const shop::Machine& allowed) {
  std::vector<shop::Setting> settings;
  for (const Swatch& swatch : swatches) settings.push_back(swatch.setting);
  const DialRegion whole(machine, allowed);
  const Eigen::MatrixXd coded = whole.code(settings);
  const std::vector<std::string> names = whole.names();
  double share = 1;
  for (std::size_t factor = 0; factor < names.size(); ++factor) {
    if (names[factor] != "power" && names[factor] != "speed") continue;
    const Eigen::VectorXd values = coded.col(static_cast<Eigen::Index>(factor));
    share = std::min(share, (values.maxCoeff() - values.minCoeff()) / 2);
  }
  return share;
}

// The factor whose change from end to end is seen worst.
void judge_power(Evaluation& evaluation, const Eigen::MatrixXd& inverse, const DialRegion& region) {
  const std::vector<std::string> names = region.names();
  evaluation.power = 1;
  for (int factor = 0; factor < region.factors(); ++factor) {
    // Squares cancel between -1 and 1, cross terms with the middle are 0: twice the linear coefficient.
    const double deviation = 2 * std::sqrt(inverse(1 + factor, 1 + factor));
    const double power = power_of(deviation);
    if (power <= evaluation.power) {
      evaluation.power = power;
      evaluation.power_factor = names[static_cast<std::size_t>(factor)];
    }
  }
}

}  // namespace

Evaluation evaluate(const std::vector<Swatch>& swatches, const DialRegion& region,
                    const GradeSpread& spread) {
  FROSTCAL_ASSERT(!swatches.empty(), "a grid has swatches");
  const QuadraticModel model = region.model();
  Evaluation evaluation;
  evaluation.terms = model.terms();
  std::vector<shop::Setting> settings;
  std::vector<int> burn;
  std::vector<int> bottle;
  std::map<std::string, int> bottle_number;
  for (const Swatch& swatch : swatches) {
    settings.push_back(swatch.setting);
    burn.push_back(swatch.burn);
    bottle.push_back(
        bottle_number.emplace(swatch.bottle, static_cast<int>(bottle_number.size())).first->second);
  }
  const Eigen::MatrixXd coded = region.code(settings);
  const Eigen::MatrixXd rows = model.rows(coded);
  evaluation.lacking = lacking_in(coded, region);
  if (rows.rows() < rows.cols()) return evaluation;
  const Eigen::LLT<Eigen::MatrixXd> covariance(grade_covariance(burn, bottle, spread));
  const Eigen::MatrixXd m = rows.transpose() * covariance.solve(rows);
  const Eigen::LLT<Eigen::MatrixXd> cholesky(m);
  if (cholesky.info() != Eigen::Success) return evaluation;
  const Eigen::VectorXd diagonal = cholesky.matrixLLT().diagonal();
  if (diagonal.minCoeff() < kSingular * diagonal.maxCoeff()) return evaluation;

  evaluation.estimable = true;
  evaluation.lacking.clear();
  const double terms = static_cast<double>(rows.cols());
  evaluation.d_per_swatch =
      std::exp(2 * diagonal.array().log().sum() / terms) / static_cast<double>(rows.rows());
  const Eigen::MatrixXd inverse = cholesky.solve(Eigen::MatrixXd::Identity(rows.cols(), rows.cols()));
  const std::vector<shop::Setting> lattice = region.lattice(kLatticeLevels);
  if (!lattice.empty()) {
    const Eigen::VectorXd variance = numerics::quadratic_forms(model.rows(region.code(lattice)), inverse);
    evaluation.mean_variance = variance.mean();
    evaluation.largest_variance = variance.maxCoeff();
  }
  judge_power(evaluation, inverse, region);
  return evaluation;
}

std::vector<ComparedDesign> compare_grids(const std::vector<Grid>& grids, const shop::Machine& machine,
                                          const shop::Machine& allowed, double inner) {
  const DialRegion region(machine, allowed, {inner, 0});
  std::vector<ComparedDesign> table;
  double best_d = 0;
  double best_i = 0;
  const auto per_swatch = [](const ComparedDesign& line) {
    return line.evaluation.estimable ? 1 / (line.swatches * line.evaluation.mean_variance) : 0.0;
  };
  for (const Grid& grid : grids) {
    ComparedDesign line;
    line.design = grid.design;
    line.swatches = static_cast<int>(grid.swatches.size());
    line.bottles = static_cast<int>(grid.bottles().size());
    line.burns = grid.burns();
    line.recipes = grid.recipes();
    line.evaluation = evaluate(grid.swatches, region);
    line.reach = covered_share(grid.swatches, machine, allowed);
    best_d = std::max(best_d, line.evaluation.d_per_swatch);
    best_i = std::max(best_i, per_swatch(line));
    table.push_back(line);
  }
  for (ComparedDesign& line : table) {
    if (!line.evaluation.estimable) continue;
    line.d_efficiency = line.evaluation.d_per_swatch / best_d;
    line.i_efficiency = per_swatch(line) / best_i;
  }
  return table;
}

}  // namespace frostcal::design
