// Binary and ordinal Gaussian-process models by Laplace approximation, hyperparameters fixed, against
// 40-digit values (column `source` of tests/published/data/gp_expected.csv).
#include <Eigen/Cholesky>
#include <catch2/catch.hpp>

#include "numerics/gauss_hermite.hpp"
#include "published_table.hpp"
#include "surface/cumulative_link.hpp"

using namespace frostcal::surface;
using published_table::Row;

namespace {

struct Kernel {
  double variance;
  double length1;
  double length2;
};

struct Points {
  Eigen::MatrixXd x;  // n x 2, second column 0 in one dimension
  std::vector<int> y;
};

Points read_points(const std::string& name, const std::string& role, bool ordinal) {
  Points points;
  std::vector<Eigen::RowVector2d> x;
  for (const Row& row : published_table::read("gp_data.csv")) {
    if (row.at("case") != name || row.at("role") != role) continue;
    x.emplace_back(std::stod(row.at("x1")), row.at("x2").empty() ? 0 : std::stod(row.at("x2")));
    points.y.push_back(row.at("y").empty() ? 0 : std::stoi(row.at("y")) - (ordinal ? 1 : 0));
  }
  points.x.resize(static_cast<Eigen::Index>(x.size()), 2);
  for (std::size_t i = 0; i < x.size(); ++i) points.x.row(static_cast<Eigen::Index>(i)) = x[i];
  return points;
}

Eigen::MatrixXd covariance(const Kernel& k, const Eigen::MatrixXd& a, const Eigen::MatrixXd& b) {
  Eigen::MatrixXd out(a.rows(), b.rows());
  for (Eigen::Index i = 0; i < a.rows(); ++i) {
    for (Eigen::Index j = 0; j < b.rows(); ++j) {
      const double d1 = (a(i, 0) - b(j, 0)) / k.length1;
      const double d2 = (a(i, 1) - b(j, 1)) / k.length2;
      out(i, j) = k.variance * std::exp(-0.5 * (d1 * d1 + d2 * d2));
    }
  }
  return out;
}

void check_case(const std::string& name, const Kernel& kernel, Link link, const Eigen::VectorXd& cutpoints,
                int least) {
  const bool ordinal = cutpoints.size() > 1;
  const Points train = read_points(name, "train", ordinal);
  const Points test = read_points(name, "test", ordinal);
  const Eigen::LLT<Eigen::MatrixXd> llt(covariance(kernel, train.x, train.x));
  const Eigen::MatrixXd root = llt.matrixL();
  CumulativeLinkModel model;
  model.link = link;
  model.design = root;
  model.category = train.y;
  model.cutpoint_offset = cutpoints;
  model.cutpoint_map.resize(cutpoints.size(), 0);
  model.precision = Eigen::VectorXd::Ones(root.cols());
  NewtonOptions options;
  options.decrement_tolerance = 1e-20;
  const PosteriorMode mode = find_mode(model, Eigen::VectorXd::Zero(root.cols()), options);

  std::map<std::pair<std::string, std::string>, double> found;
  found[{"model", "log_marginal_likelihood_laplace"}] = mode.log_evidence();
  found[{"model", "logLik_at_mode"}] = mode.at_mode.log_likelihood;
  const Eigen::VectorXd f = root * mode.theta;
  for (Eigen::Index i = 0; i < f.size(); ++i) {
    const int c = train.y[i];
    const double infinity = std::numeric_limits<double>::infinity();
    const double a = c < cutpoints.size() ? cutpoints(c) - f(i) : infinity;
    const double b = c > 0 ? cutpoints(c - 1) - f(i) : -infinity;
    const IntervalTerm t = interval_term(link, a, b);
    const std::string item = "train" + std::to_string(i + 1);
    found[{item, "latent_mode"}] = f(i);
    found[{item, "W"}] = -(t.daa + 2 * t.dab + t.dbb);
  }
  const Eigen::MatrixXd g = llt.matrixL().solve(covariance(kernel, train.x, test.x));
  const Eigen::VectorXd mean = g.transpose() * mode.theta;
  const Eigen::MatrixXd s = mode.factor.core_covariance();
  for (Eigen::Index i = 0; i < mean.size(); ++i) {
    const std::string item = "test" + std::to_string(i + 1);
    const double variance = kernel.variance - g.col(i).squaredNorm() + g.col(i).dot(s * g.col(i));
    found[{item, "latent_mean"}] = mean(i);
    found[{item, "latent_var"}] = variance;
    double below = 0;
    for (Eigen::Index j = 0; j <= cutpoints.size(); ++j) {
      const double upto =
          j < cutpoints.size() ? averaged_link_cdf(link, cutpoints(j) - mean(i), variance, 1) : 1;
      // Binary cases name the probability of y = 1, ordinal ones count categories from 1.
      found[{item, "prob" + std::to_string(ordinal ? j + 1 : j) + "_averaged_exact"}] = upto - below;
      below = upto;
    }
  }
  int compared = 0;
  for (const Row& row : published_table::read("gp_expected.csv")) {
    const auto value = found.find({row.at("item"), row.at("quantity")});
    if (row.at("case") != name || value == found.end()) continue;
    INFO(name << " " << row.at("item") << " " << row.at("quantity"));
    const bool averaged = row.at("quantity").find("averaged") != std::string::npos;
    CHECK_THAT(value->second, Catch::Matchers::WithinAbs(std::stod(row.at("value")), averaged ? 1e-6 : 1e-8));
    ++compared;
  }
  CHECK(compared >= least);
}

}  // namespace

TEST_CASE("Laplace approximation of Gaussian-process models", "[published][ordinal]") {
  const Eigen::VectorXd binary = Eigen::VectorXd::Zero(1);
  const Eigen::VectorXd ordinal = Eigen::Vector3d(-1, 0.5, 1.8);
  check_case("gp1d_binary_logit", {2, 1, 1}, Link::logit, binary, 25);
  check_case("gp1d_binary_probit", {2, 1, 1}, Link::probit, binary, 25);
  check_case("gp2d_ard_binary_logit", {1.5, 0.8, 1.6}, Link::logit, binary, 15);
  check_case("gp1d_ordinal_logit", {2.5, 1.3, 1}, Link::logit, ordinal, 40);
  check_case("gp1d_ordinal_probit", {2.5, 1.3, 1}, Link::probit, ordinal, 40);
  check_case("gp2d_ard_ordinal_logit", {1.5, 0.8, 1.6}, Link::logit, ordinal, 30);
}
