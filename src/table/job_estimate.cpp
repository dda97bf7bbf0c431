#include "table/job_estimate.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "errors/bug.hpp"
#include "numerics/distributions.hpp"
#include "numerics/pi.hpp"
#include "shop/burn_time.hpp"
#include "shop/vessel_wall.hpp"
#include "textfile/number_text.hpp"

namespace frostcal::table {

using textfile::format_fixed;

namespace {

constexpr double kLeastPrecision = 0.1;  // of a beta: nearly all or nothing
constexpr double kExact = 1e6;           // from here on the beta cannot be told from its mean

void judge_place(JobEstimate& job, const shop::Machine& machine, const shop::Vessel& vessel) {
  const shop::WallMargins margins;
  const double edge = margins.edge_mm;
  const double along = std::min(vessel.panel_mm, machine.rotary.max_length_mm) - 2 * edge;
  const double round =
      numerics::kPi * std::min(vessel.diameter_at_neck_mm, vessel.diameter_at_base_mm) - 2 * edge;
  constexpr double kRounding = 1e-9;
  if (job.art.height_mm > along + kRounding) {
    job.misfits.push_back("the art is " + format_fixed(job.art.height_mm, 1) + " mm high, the panel takes " +
                          format_fixed(std::max(0.0, along), 1) + " mm");
  }
  if (job.art.width_mm > round + kRounding) {
    job.misfits.push_back("the art is " + format_fixed(job.art.width_mm, 1) +
                          " mm wide, the way round takes " + format_fixed(round, 1) + " mm");
  }
  job.fits = job.misfits.empty();
  if (!job.fits) return;
  const double between = vessel.seams > 0 ? (round + 2 * edge) / vessel.seams - 2 * margins.seam_mm : round;
  if (job.art.width_mm > between + kRounding) {
    job.warnings.push_back("The art crosses a mould seam: " + format_fixed(between, 1) +
                           " mm lie between two seams. Seams frost differently and chip sooner.");
  }
  // Along a taper the wall leaves the focus by half the difference of the radii under the art, to either
  // side.
  const double slope =
      std::abs(vessel.diameter_at_base_mm - vessel.diameter_at_neck_mm) / 2 / std::max(vessel.panel_mm, 1e-9);
  const double off_focus = slope * job.art.height_mm / 2;
  if (off_focus > machine.depth_of_focus_mm) {
    job.warnings.push_back("The bottle tapers: level the wall on the rotary, or the ends of the art lie " +
                           format_fixed(off_focus, 1) + " mm out of focus.");
  }
}

double log_beta(double a, double b) {
  return std::lgamma(a) + std::lgamma(b) - std::lgamma(a + b);
}

// ln of the mean of p^good (1 - p)^bad.
double log_outcome(int good, int bad, const BatchChance& chance) {
  if (std::isinf(chance.precision)) {
    return (good == 0 ? 0 : good * std::log(chance.mean)) + (bad == 0 ? 0 : bad * std::log1p(-chance.mean));
  }
  const double a = chance.mean * chance.precision;
  const double b = chance.precision - a;
  return log_beta(a + good, b + bad) - log_beta(a, b);
}

// P(at least `good` of `bottles` come out good).
double at_least(int good, int bottles, const BatchChance& chance) {
  double sum = 0;
  for (int k = good; k <= bottles; ++k) {
    const double log_ways =
        std::lgamma(bottles + 1.0) - std::lgamma(k + 1.0) - std::lgamma(bottles - k + 1.0);
    sum += std::exp(log_ways + log_outcome(k, bottles - k, chance));
  }
  return sum;
}

}  // namespace

namespace {

// P(X <= x) for a beta with this mean and precision, by the F distribution: X / (1 - X) * b / a is F(2a, 2b).
double beta_cdf(double x, double mean, double precision) {
  const double a = mean * precision;
  const double b = precision - a;
  return numerics::f_cdf(x * b / ((1 - x) * a), 2 * a, 2 * b);
}

// The largest precision at which `low` is the 5 % quantile; nothing when there is none.
std::optional<double> precision_by_low(double mean, double low) {
  constexpr double kTail = 0.05;
  constexpr double kStep = 1.25;
  if (low <= 0 || low >= mean) return std::nullopt;
  double above = kExact;
  double below = above / kStep;
  while (beta_cdf(low, mean, below) < kTail) {
    above = below;
    below /= kStep;
    if (below < kLeastPrecision) return std::nullopt;
  }
  for (int i = 0; i < 40; ++i) {
    const double middle = std::sqrt(above * below);
    (beta_cdf(low, mean, middle) < kTail ? above : below) = middle;
  }
  return below;
}

}  // namespace

BatchChance batch_chance(const SettingsRow& row) {
  constexpr double kNormal95 = 1.6448536269514722;  // 95 % quantile of the standard normal
  const double sd = (row.chance_high - row.chance_low) / (2 * kNormal95);
  const double by_sd = row.chance * (1 - row.chance) / (sd * sd) - 1;
  if (!(sd > 0) || row.chance <= 0 || row.chance >= 1 || by_sd > kExact) {
    return {row.chance, std::numeric_limits<double>::infinity()};
  }
  const double precision = precision_by_low(row.chance, row.chance_low).value_or(by_sd);
  return {row.chance, std::max(precision, kLeastPrecision)};
}

double no_reject_chance(int pieces, const BatchChance& chance) {
  return chance.mean <= 0 ? 0 : std::exp(log_outcome(pieces, 0, chance));
}

int bottles_needed(int pieces, const BatchChance& chance, double sure) {
  FROSTCAL_ASSERT(
      pieces >= 1 && chance.mean >= 0 && chance.mean <= 1 && chance.precision > 0 && sure > 0 && sure < 1,
      "a batch");
  if (chance.mean <= 0) return 0;
  if (chance.mean >= 1) return pieces;
  const long most = 20L * pieces;
  // P grows with the number of bottles, so halve the range.
  long low = pieces;
  long high = most;
  if (at_least(pieces, static_cast<int>(most), chance) < sure) return 0;
  while (low < high) {
    const long middle = (low + high) / 2;
    if (at_least(pieces, static_cast<int>(middle), chance) >= sure) {
      high = middle;
    } else {
      low = middle + 1;
    }
  }
  return static_cast<int>(low);
}

JobEstimate estimate_job(const SettingsRow& row, const shop::Machine& machine, const shop::Vessel& vessel,
                         const ArtSize& art, int pieces, double handling_seconds) {
  FROSTCAL_ASSERT(art.width_mm > 0 && art.height_mm > 0 && pieces >= 1 && handling_seconds >= 0, "a job");
  JobEstimate job;
  job.art = art;
  job.pieces = pieces;
  const shop::RasterTime time = shop::raster_time(art.height_mm, art.width_mm, row.setting, machine);
  job.lines = time.lines;
  job.burn_seconds = time.seconds;
  job.pieces_per_hour = 3600 / (time.seconds + handling_seconds);
  job.round_deg = art.width_mm / (numerics::kPi * vessel.diameter_mm(0)) * 360;
  job.dose_j_mm2 = shop::dose_j_mm2(row.setting, machine);
  judge_place(job, machine, vessel);
  const BatchChance chance = batch_chance(row);
  job.no_reject = no_reject_chance(pieces, chance);
  job.no_reject_low = std::pow(row.chance_low, pieces);
  job.no_reject_high = std::pow(row.chance_high, pieces);
  job.bottles_to_bring = bottles_needed(pieces, chance, 0.9);
  return job;
}

}  // namespace frostcal::table
