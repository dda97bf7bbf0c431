// Simulation-based calibration (S. Talts, M. Betancourt, D. Simpson, A. Vehtari, A. Gelman, "Validating
// Bayesian inference algorithms with simulation-based calibration", 2018, arXiv:1804.06788): on data drawn
// from the model, the rank of the truth among posterior draws is uniform.
#include <catch2/catch.hpp>
#include <cmath>
#include <vector>

#include "numerics/normal_tail.hpp"
#include "numerics/random_engine.hpp"
#include "numerics/sobol.hpp"
#include "surface/shop_surface.hpp"

using namespace frostcal::surface;

namespace {

constexpr int kReplicates = 1000;
constexpr int kBins = 10;

struct Truth {
  std::vector<Observation> grades;
  double chance = 0;  // of enough frost on a new bottle at the place asked for
};

Truth draw_truth(const std::shared_ptr<const SurfaceBasis>& basis, const std::vector<ScaleSetting>& settings,
                 const PhysicalSetting& asked, const Bar& bar, int swatches, const std::string& glass,
                 std::uint64_t seed) {
  frostcal::numerics::RandomEngine random(seed);
  const ScaleSetting& s = settings[random.below(settings.size())];
  const FeaturePrior prior = feature_prior(Response::frost, s, basis->features(s.length_choice));
  Eigen::VectorXd w = prior.mean;
  for (Eigen::Index i = 0; i < w.size(); ++i) w(i) += prior.sd(i) * random.normal();
  std::vector<double> cut{kFirstCutpoint};
  while (cut.size() < 5) cut.push_back(cut.back() + std::fmax(0.01, kGapMean + kGapSd * random.normal()));
  double bottle[3], burn[2];
  for (double& b : bottle) b = s.bottle_sd * random.normal();
  for (double& b : burn) b = kBurnSd * random.normal();
  const double grader = kGraderSd * random.normal();

  Truth truth;
  const Eigen::MatrixXd place = frostcal::numerics::sobol_points(swatches, 3, seed + 17);
  const CoordinateCentre& c = basis->centre();
  for (int i = 0; i < swatches; ++i) {
    Observation o;
    o.glass = glass;
    o.bottle = std::to_string(i % 3);
    o.burn = std::to_string(i % 2);
    o.grader = "Wen";
    o.setting = {c.power_w * std::exp(c.log_half_power * (1.6 * place(i, 0) - 0.8)),
                 c.speed_mm_s * std::exp(c.log_half_speed * (1.6 * place(i, 1) - 0.8)),
                 c.pitch_mm * std::exp(c.log_half_pitch * (1.6 * place(i, 2) - 0.8)), 1, 1};
    const double eta = basis->evaluate(basis->coordinates_of({o.setting}), s.length_choice).row(0).dot(w) +
                       bottle[i % 3] + burn[i % 2] + grader + s.noise * random.normal();
    int frost = 0;
    while (frost < 5 && eta > cut[static_cast<std::size_t>(frost)]) ++frost;
    o.frost = frost;
    truth.grades.push_back(o);
  }
  const double spread =
      std::sqrt(s.noise * s.noise + s.bottle_sd * s.bottle_sd + kBurnSd * kBurnSd + kGraderSd * kGraderSd);
  const double eta = basis->evaluate(basis->coordinates_of({asked}), s.length_choice).row(0).dot(w);
  truth.chance = frostcal::numerics::normal_cdf((eta - cut[bar.frost - 1]) / spread);
  return truth;
}

}  // namespace

TEST_CASE("posterior ranks are uniform on data drawn from the model", "[surface][calibration][replicates]") {
  FitOptions options;
  options.centre = {25.0, 380.0, 25.4 / 350};
  options.basis = std::make_shared<SurfaceBasis>(options.centre);
  options.pool = false;
  options.bar = {3, 3};  // frost alone decides
  options.draws = 99;
  const std::vector<ScaleSetting> settings =
      scale_settings(Response::frost, options.scale_settings, options.seed);
  const PhysicalSetting asked{28, 330, 25.4 / 330, 1, 1};
  std::vector<int> bin(kBins, 0);
  int covered = 0;
  double bias = 0;
  frostcal::numerics::RandomEngine tie_break(5);
  for (int r = 0; r < kReplicates; ++r) {
    // The name seeds the draws: one set of draws for all replicates would not give uniform ranks.
    const std::string glass = "jug-" + std::to_string(r);
    const Truth truth = draw_truth(options.basis, settings, asked, options.bar, 24, glass, 1000 + r);
    const GlassSurface surface = fit_shop(truth.grades, options).glass(glass);
    const Eigen::RowVectorXd drawn = surface.drawn_chance({asked}).row(0);
    // Chances saturate at 1 in double precision: ties are broken at random.
    const auto below = (drawn.array() < truth.chance).count();
    const auto ties = (drawn.array() == truth.chance).count();
    const double rank = static_cast<double>(below) + static_cast<double>(tie_break.below(ties + 1));
    ++bin[static_cast<int>(rank * kBins / 100)];
    covered += rank >= 5 && rank < 95 ? 1 : 0;
    bias += surface.mean_chance({asked})(0) - truth.chance;
  }
  double chi_squared = 0;
  for (const int b : bin) chi_squared += std::pow(b - kReplicates / kBins, 2) * kBins / kReplicates;
  CAPTURE(bin, covered, bias / kReplicates);
  CHECK(chi_squared < 27.88);  // 0.999 quantile of chi-squared with 9 degrees of freedom
  CHECK(covered > 0.9 * kReplicates - 3.3 * std::sqrt(0.09 * kReplicates));
  CHECK(covered < 0.9 * kReplicates + 3.3 * std::sqrt(0.09 * kReplicates));
  CHECK(std::fabs(bias / kReplicates) < 0.05);
}
