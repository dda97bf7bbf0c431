#include "table/job_estimate.hpp"

#include <algorithm>
#include <cmath>

#include "errors/bug.hpp"
#include "numerics/pi.hpp"
#include "numerics/weighted_quantile.hpp"
#include "shop/burn_time.hpp"
#include "shop/vessel_wall.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::table {

namespace {

/// The most page millimetres round the bottle for one of glass under art of that height.
double stretch_under(const shop::Vessel& vessel, double height_mm) {
  return std::max(vessel.page_stretch(-height_mm / 2), vessel.page_stretch(height_mm / 2));
}

void judge_place(JobEstimate& job, const shop::Machine& machine, const shop::Vessel& vessel,
                 shop::LengthUnit units) {
  const auto length = [&](double mm) { return shop::length_text(std::max(0.0, mm), units); };
  const shop::WallMargins margins;
  const double edge = margins.edge_mm;
  const double along = std::min(vessel.panel_mm, machine.rotary.max_length_mm) - 2 * edge;
  const double girth = numerics::kPi * vessel.diameter_mm(0);
  const double stretch = stretch_under(vessel, job.art.height_mm);
  const double round = girth - 2 * edge * stretch;
  constexpr double kRounding = 1e-9;
  if (job.art.height_mm > along + kRounding) {
    const bool rotary = machine.rotary.max_length_mm < vessel.panel_mm;
    job.misfits.push_back("the art is " + length(job.art.height_mm) + " high, the " +
                          (rotary ? "rotary" : "panel") + " takes " + length(along) + ": " +
                          length(along + 2 * edge) + " less " + length(edge) + " kept clear at each end");
  }
  if (job.art.width_mm > round + kRounding) {
    job.misfits.push_back("the art is " + length(job.art.width_mm) + " wide, the way round takes " +
                          length(round) + ": " + length(girth) + " less " + length(edge * stretch) +
                          " kept clear on each side");
  }
  job.fits = job.misfits.empty();
  if (!job.fits) return;
  const double between = vessel.seams > 0 ? girth / vessel.seams - 2 * margins.seam_mm * stretch : round;
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

void judge_batch(JobEstimate& job, const SettingsRow& row, const std::optional<ArtChance>& today) {
  constexpr double kSure = 0.9;
  if (!today) {
    const BatchChance chance = batch_chance(row);
    job.no_reject = no_reject_chance(job.pieces, chance);
    job.no_reject_low = std::pow(row.chance_low, job.pieces);
    job.no_reject_high = std::pow(row.chance_high, job.pieces);
    job.rejects = job.pieces * (1 - chance.mean);
    job.rejects_low = rejects_quantile(job.pieces, chance, 0.05);
    job.rejects_high = rejects_quantile(job.pieces, chance, 0.95);
    job.bottles_to_bring = bottles_needed(job.pieces, chance, kSure);
    return;
  }
  FROSTCAL_ASSERT(today->places.size() == job.places.size(), "a chance for each place of the art");
  job.by_surface = true;
  job.chance_now = today->places.front().chance;
  for (std::size_t i = 0; i < job.places.size(); ++i) {
    job.places[i].chance = today->places[i].chance;
    if (today->places[i].chance < today->places[job.worst].chance) job.worst = i;
  }
  const DrawnChance& whole = today->whole;
  job.chance_whole = whole.single.chance;
  const auto quantile = [&](double share) {
    return numerics::weighted_quantile(whole.chance, whole.weight, share);
  };
  if (job.pieces == 1) {  // the same event
    job.no_reject = whole.single.chance;
    job.no_reject_low = whole.single.low;
    job.no_reject_high = whole.single.high;
  } else {
    job.no_reject = no_reject_chance(job.pieces, whole);
    job.no_reject_low = std::pow(quantile(0.05), job.pieces);
    job.no_reject_high = std::pow(quantile(0.95), job.pieces);
  }
  job.rejects = job.pieces * (1 - whole.mean());
  job.rejects_low = rejects_quantile(job.pieces, whole, 0.05);
  job.rejects_high = rejects_quantile(job.pieces, whole, 0.95);
  job.bottles_to_bring = bottles_needed(job.pieces, whole, kSure);
}

}  // namespace

std::vector<ArtPlace> art_places(const shop::Vessel& vessel, const ArtSize& art) {
  const auto place = [&](const std::string& name, double x_mm) {
    const double stretch = vessel.page_stretch(x_mm);
    return ArtPlace{name, x_mm, stretch, art.width_mm / stretch, std::nullopt};
  };
  std::vector<ArtPlace> places{place("centre", 0)};
  if (!vessel.tapers()) return places;
  places.push_back(place("neck end", -art.height_mm / 2));
  places.push_back(place("base end", art.height_mm / 2));
  return places;
}

std::string hours_text(double seconds) {
  const long minutes = std::lround(seconds / 60);
  if (minutes < 60) return std::to_string(minutes) + " min";
  const std::string rest = std::to_string(minutes % 60);
  return std::to_string(minutes / 60) + " h " + (rest.size() < 2 ? "0" : "") + rest + " min";
}

std::string taper_text(const JobEstimate& job, shop::LengthUnit units) {
  if (job.places.size() < 3) return "";
  const ArtPlace& neck = job.places[1];
  const ArtPlace& base = job.places[2];
  const auto change = [](const ArtPlace& place) {
    const double percent = 100 * (place.dose_ratio - 1);
    return (percent < 0 ? "" : "+") + textfile::format_fixed(percent, 0) + " %";
  };
  std::string text = "dose " + change(neck) + " at the neck end of the art, " + change(base) +
                     " at the base end; the art is " + shop::length_text(neck.width_mm, units) +
                     " round at the neck end and " + shop::length_text(base.width_mm, units) +
                     " at the base end";
  if (job.by_surface) {
    text += "; chance of a good piece today " + textfile::shown_chance(*job.places[job.worst].chance) +
            " by the " + job.places[job.worst].name + ", where it is least, " +
            textfile::shown_chance(job.chance_whole) + " by the whole art";
  }
  return text;
}

JobEstimate estimate_job(const SettingsRow& row, const shop::Machine& machine, const shop::Vessel& vessel,
                         const ArtSize& art, int pieces, double handling_seconds,
                         const std::optional<ArtChance>& today, shop::LengthUnit units) {
  FROSTCAL_ASSERT(art.width_mm > 0 && art.height_mm > 0 && pieces >= 1 && handling_seconds >= 0, "a job");
  JobEstimate job;
  job.art = art;
  job.pieces = pieces;
  const shop::RasterTime time = shop::raster_time(art.height_mm, art.width_mm, row.setting, machine);
  job.lines = time.lines;
  job.burn_seconds = time.seconds;
  job.pieces_per_hour = 3600 / (time.seconds + handling_seconds);
  job.batch_burn_seconds = pieces * time.seconds;
  job.batch_seconds = pieces * (time.seconds + handling_seconds);
  job.round_deg = art.width_mm / (numerics::kPi * vessel.diameter_mm(0)) * 360;
  job.dose_j_mm2 = shop::dose_j_mm2(row.setting, machine);
  judge_place(job, machine, vessel, units);
  job.chance_now = job.chance_whole = row.chance;
  job.places = art_places(vessel, art);
  judge_batch(job, row, today);
  return job;
}

}  // namespace frostcal::table
