#include "design/split_plot.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <string>

#include "design/dial_region.hpp"
#include "errors/user_error.hpp"
#include "numerics/random_engine.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::design {

namespace {

constexpr int kMostSweeps = 30;
// Keeps the criterion finite while a start can't be estimated yet; relative to an information of order 1.
constexpr double kRidge = 1e-6;
constexpr double kLeastGain = 1e-9;
constexpr double kSingular = 1e-5;

struct Layout {
  std::vector<int> burn;    // of each swatch
  std::vector<int> bottle;  // of each swatch
  int burns = 0;
  int bottles = 0;
};

Layout laid_out(const SplitPlotOptions& options) {
  Layout layout;
  layout.burns = options.burns;
  layout.bottles = options.bottles;
  for (int i = 0; i < options.swatches; ++i) {
    layout.burn.push_back(i % options.burns);
    layout.bottle.push_back(layout.burn.back() % options.bottles);
  }
  return layout;
}

// One design under search: coded points and the information they carry.
class Search {
 public:
  Search(const DialRegion& region, const Layout& layout, const SplitPlotOptions& options)
      : region_(region), layout_(layout), criterion_(options.criterion), model_(region.model()) {
    const Eigen::MatrixXd v = grade_covariance(layout.burn, layout.bottle, options.spread);
    weight_ = v.llt().solve(Eigen::MatrixXd::Identity(v.rows(), v.cols()));
    moments_ = mean_moments(model_.rows(region.code(region.lattice(kLatticeLevels))));
    for (int factor = 0; factor < region.factors(); ++factor)
      levels_.push_back(region.levels(factor, kLatticeLevels));
  }

  void start(numerics::RandomEngine& random) {
    points_.resize(static_cast<Eigen::Index>(layout_.burn.size()), region_.factors());
    // Dpi of the burns of one bottle: a random run of different levels.
    const int dpi = region_.dpi_factor();
    const int count = static_cast<int>(levels_[static_cast<std::size_t>(dpi)].size());
    std::vector<int> first;
    for (int b = 0; b < layout_.bottles; ++b)
      first.push_back(static_cast<int>(random.below(static_cast<std::uint64_t>(count))));
    for (Eigen::Index i = 0; i < points_.rows(); ++i) {
      const int burn = layout_.burn[static_cast<std::size_t>(i)];
      const int bottle = burn % layout_.bottles;
      const int level = (first[static_cast<std::size_t>(bottle)] + burn / layout_.bottles) % count;
      do {
        for (int j = 0; j < region_.factors(); ++j) {
          const std::vector<double>& levels = levels_[static_cast<std::size_t>(j)];
          points_(i, j) =
              j == dpi ? levels[static_cast<std::size_t>(level)] : levels[random.below(levels.size())];
        }
      } while (!burnable(points_.row(i)) && ++refusals_ < 100000);
    }
    recompute();
  }

  bool sweep() {
    bool improved = false;
    for (Eigen::Index i = 0; i < points_.rows(); ++i) {
      for (int j = 0; j < region_.factors(); ++j) {
        if (j != region_.dpi_factor() && move_swatch(i, j)) improved = true;
      }
    }
    for (int burn = 0; burn < layout_.burns; ++burn) improved = move_burn(burn) || improved;
    recompute();
    return improved;
  }

  double loss() const { return loss_; }
  bool all_burnable() const {
    for (Eigen::Index i = 0; i < points_.rows(); ++i) {
      if (!burnable(points_.row(i))) return false;
    }
    return true;
  }

  std::optional<SplitPlot> result() const {
    const Eigen::MatrixXd rows = model_.rows(points_);
    const Eigen::MatrixXd m = rows.transpose() * weight_ * rows;
    const Eigen::LLT<Eigen::MatrixXd> cholesky(m);
    if (cholesky.info() != Eigen::Success) return std::nullopt;
    const Eigen::VectorXd diagonal = cholesky.matrixLLT().diagonal();
    if (diagonal.minCoeff() < kSingular * diagonal.maxCoeff()) return std::nullopt;
    std::vector<shop::Setting> settings;
    for (Eigen::Index i = 0; i < points_.rows(); ++i) settings.push_back(region_.at(points_.row(i)));
    SplitPlot plot{with_repeats_marked(settings), layout_.burn, 2 * diagonal.array().log().sum(),
                   cholesky.solve(moments_).trace()};
    for (std::size_t i = 0; i < plot.swatches.size(); ++i) plot.swatches[i].bottle = layout_.bottle[i];
    return plot;
  }

 private:
  bool burnable(const Eigen::RowVectorXd& point) const { return region_.burnable(region_.at(point)); }

  double loss_of(const Eigen::MatrixXd& m) const {
    const Eigen::LLT<Eigen::MatrixXd> cholesky(m);
    if (cholesky.info() != Eigen::Success) return std::numeric_limits<double>::infinity();
    if (criterion_ == Criterion::d) return -2 * cholesky.matrixLLT().diagonal().array().log().sum();
    return std::log(cholesky.solve(moments_).trace());
  }

  Eigen::MatrixXd information(const Eigen::MatrixXd& rows) const {
    Eigen::MatrixXd m = rows.transpose() * weight_ * rows;
    m.diagonal().array() += kRidge;
    return m;
  }

  void recompute() {
    rows_ = model_.rows(points_);
    m_ = information(rows_);
    loss_ = loss_of(m_);
  }

  // Row i becomes row i + delta: M + delta g' + g delta' + w_ii delta delta', g = F' V^-1 e_i.
  bool move_swatch(Eigen::Index i, int factor) {
    const Eigen::VectorXd g = rows_.transpose() * weight_.col(i);
    Eigen::RowVectorXd best_point = points_.row(i);
    Eigen::MatrixXd best_m = m_;
    const double before = loss_;
    for (const double level : levels_[static_cast<std::size_t>(factor)]) {
      Eigen::RowVectorXd point = points_.row(i);
      if (level == point(factor)) continue;
      point(factor) = level;
      if (!burnable(point)) continue;
      const Eigen::VectorXd delta = (model_.rows(point) - rows_.row(i)).transpose();
      const Eigen::VectorXd half = g + 0.5 * weight_(i, i) * delta;
      const Eigen::MatrixXd m = m_ + delta * half.transpose() + half * delta.transpose();
      const double now = loss_of(m);
      if (now < loss_ - kLeastGain) {
        loss_ = now;
        best_point = point;
        best_m = m;
      }
    }
    if (loss_ >= before) return false;
    points_.row(i) = best_point;
    rows_.row(i) = model_.rows(best_point);
    m_ = best_m;
    return true;
  }

  bool dpi_free(int burn, double level) const {
    for (Eigen::Index i = 0; i < points_.rows(); ++i) {
      const int other = layout_.burn[static_cast<std::size_t>(i)];
      if (other != burn && other % layout_.bottles == burn % layout_.bottles &&
          points_(i, region_.dpi_factor()) == level)
        return false;
    }
    return true;
  }

  bool move_burn(int burn) {
    const Eigen::MatrixXd kept = points_;
    Eigen::MatrixXd best = points_;
    recompute();
    const double before = loss_;
    double least = loss_;
    for (const double level : levels_[static_cast<std::size_t>(region_.dpi_factor())]) {
      if (!dpi_free(burn, level)) continue;
      bool possible = true;
      for (Eigen::Index i = 0; i < points_.rows(); ++i) {
        if (layout_.burn[static_cast<std::size_t>(i)] != burn) continue;
        points_(i, region_.dpi_factor()) = level;
        possible = possible && burnable(points_.row(i));
      }
      const double now =
          possible ? loss_of(information(model_.rows(points_))) : std::numeric_limits<double>::infinity();
      if (now < least - kLeastGain) {
        least = now;
        best = points_;
      }
      points_ = kept;
    }
    points_ = best;
    recompute();
    return least < before;
  }

  const DialRegion& region_;
  const Layout& layout_;
  Criterion criterion_;
  QuadraticModel model_;
  Eigen::MatrixXd weight_;  // V^-1
  Eigen::MatrixXd moments_;
  std::vector<std::vector<double>> levels_;
  Eigen::MatrixXd points_;
  Eigen::MatrixXd rows_;
  Eigen::MatrixXd m_;
  double loss_ = 0;
  int refusals_ = 0;
};

void require_possible(const DialRegion& region, const SplitPlotOptions& options) {
  const auto refuse = [](const std::string& option, const std::string& found, const std::string& expected,
                         const std::string& remedy = "") {
    throw errors::UserError(errors::Fault{{"", 0, 0, option}, found, expected, remedy});
  };
  if (region.dpi_factor() < 0) refuse("--dpi", "one dpi", "two or more for a split-plot design");
  const int terms = region.model().terms();
  if (options.swatches < terms)
    refuse("--swatches", std::to_string(options.swatches),
           "at least " + std::to_string(terms) + ", the terms of a quadratic in " +
               textfile::listed(region.names()),
           "ask for more swatches, fix some of these to one value, or use the spread design");
  if (options.bottles < 1 || options.burns < options.bottles || options.burns > options.swatches)
    refuse("--bottles", std::to_string(options.bottles) + " with " + std::to_string(options.burns) + " burns",
           "a burn or more on each bottle, a swatch or more in each burn");
  const int on_one = (options.burns + options.bottles - 1) / options.bottles;
  const int dpi = region.level_count(region.dpi_factor());
  if (on_one > dpi)
    refuse("--dpi", std::to_string(dpi) + " values",
           std::to_string(on_one) + ", one for each burn on a bottle");
}

}  // namespace

SplitPlot split_plot(const shop::Machine& machine, const shop::Machine& allowed,
                     const SplitPlotOptions& options) {
  const DialRegion region(machine, allowed, {options.inner, 0});
  require_possible(region, options);
  const Layout layout = laid_out(options);
  Search search(region, layout, options);
  numerics::RandomEngine random(options.seed);
  std::optional<SplitPlot> best;
  double least = std::numeric_limits<double>::infinity();
  for (int start = 0; start < options.starts; ++start) {
    search.start(random);
    for (int sweep = 0; sweep < kMostSweeps && search.sweep(); ++sweep) continue;
    if (!search.all_burnable() || search.loss() >= least - 1e-12) continue;
    const std::optional<SplitPlot> found = search.result();
    if (!found) continue;
    best = found;
    least = search.loss();
  }
  if (!best) {
    throw errors::UserError(errors::Fault{{"", 0, 0, "--bottles"},
                                          textfile::counted(options.burns, "burn", "burns") + " on " +
                                              textfile::counted(options.bottles, "bottle", "bottles"),
                                          "enough to tell all effects apart within the dose limit",
                                          "ask for more bottles or swatches, or widen the ranges"});
  }
  return *best;
}

}  // namespace frostcal::design
