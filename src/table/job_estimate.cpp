#include "table/job_estimate.hpp"

#include <algorithm>
#include <cmath>

#include "errors/bug.hpp"
#include "numerics/pi.hpp"
#include "numerics/weighted_quantile.hpp"
#include "shop/burn_time.hpp"
#include "shop/vessel_wall.hpp"

namespace frostcal::table {

namespace {

/// The smallest way round under art of that height, which lies on the panel's centre.
double round_under(const shop::Vessel& vessel, double height_mm) {
  const double half = std::min(height_mm, vessel.panel_mm) / 2;
  return numerics::kPi * std::min(vessel.diameter_mm(-half), vessel.diameter_mm(half));
}

void judge_place(JobEstimate& job, const shop::Machine& machine, const shop::Vessel& vessel,
                 shop::LengthUnit units) {
  const auto length = [&](double mm) { return shop::length_text(std::max(0.0, mm), units); };
  const shop::WallMargins margins;
  const double edge = margins.edge_mm;
  const double along = std::min(vessel.panel_mm, machine.rotary.max_length_mm) - 2 * edge;
  const double round = round_under(vessel, job.art.height_mm) - 2 * edge;
  constexpr double kRounding = 1e-9;
  if (job.art.height_mm > along + kRounding) {
    const bool rotary = machine.rotary.max_length_mm < vessel.panel_mm;
    job.misfits.push_back("the art is " + length(job.art.height_mm) + " high, the " +
                          (rotary ? "rotary" : "panel") + " takes " + length(along) + ": " +
                          length(along + 2 * edge) + " less " + length(edge) + " kept clear at each end");
  }
  if (job.art.width_mm > round + kRounding) {
    job.misfits.push_back("the art is " + length(job.art.width_mm) + " wide, the way round takes " +
                          length(round) + ": " + length(round + 2 * edge) + " less " + length(edge) +
                          " kept clear on each side");
  }
  job.fits = job.misfits.empty();
  if (!job.fits) return;
  const double between = vessel.seams > 0 ? (round + 2 * edge) / vessel.seams - 2 * margins.seam_mm : round;
  if (job.art.width_mm > between + kRounding) {
    job.warnings.push_back("The art crosses a mould seam: " + length(between) +
                           " lie between two seams. Seams frost differently and chip sooner.");
  }
  // Along a taper the wall leaves the focus by half the difference of the radii under the art, to either
  // side.
  const double slope =
      std::abs(vessel.diameter_at_base_mm - vessel.diameter_at_neck_mm) / 2 / std::max(vessel.panel_mm, 1e-9);
  const double off_focus = slope * job.art.height_mm / 2;
  if (off_focus > machine.depth_of_focus_mm) {
    job.warnings.push_back("The bottle tapers: level the wall on the rotary, or the ends of the art lie " +
                           length(off_focus) + " out of focus.");
  }
}

void judge_batch(JobEstimate& job, const SettingsRow& row, const std::optional<DrawnChance>& drawn) {
  constexpr double kSure = 0.9;
  if (!drawn) {
    const BatchChance chance = batch_chance(row);
    job.no_reject = no_reject_chance(job.pieces, chance);
    job.no_reject_low = std::pow(row.chance_low, job.pieces);
    job.no_reject_high = std::pow(row.chance_high, job.pieces);
    job.bottles_to_bring = bottles_needed(job.pieces, chance, kSure);
    return;
  }
  const auto quantile = [&](double share) {
    return numerics::weighted_quantile(drawn->chance, drawn->weight, share);
  };
  job.by_surface = true;
  job.chance_now = drawn->single.chance;
  if (job.pieces == 1) {  // the same event
    job.no_reject = job.chance_now;
    job.no_reject_low = drawn->single.low;
    job.no_reject_high = drawn->single.high;
  } else {
    job.no_reject = no_reject_chance(job.pieces, *drawn);
    job.no_reject_low = std::pow(quantile(0.05), job.pieces);
    job.no_reject_high = std::pow(quantile(0.95), job.pieces);
  }
  job.bottles_to_bring = bottles_needed(job.pieces, *drawn, kSure);
}

}  // namespace

JobEstimate estimate_job(const SettingsRow& row, const shop::Machine& machine, const shop::Vessel& vessel,
                         const ArtSize& art, int pieces, double handling_seconds,
                         const std::optional<DrawnChance>& drawn, shop::LengthUnit units) {
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
  judge_place(job, machine, vessel, units);
  job.chance_now = row.chance;
  judge_batch(job, row, drawn);
  return job;
}

}  // namespace frostcal::table
