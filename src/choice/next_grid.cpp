#include "choice/next_grid.hpp"

#include <algorithm>
#include <cmath>

#include "choice/best_setting.hpp"
#include "choice/evidence_count.hpp"
#include "choice/reference_swatch.hpp"
#include "choice/scrap_bottles.hpp"
#include "choice/sheet_options.hpp"
#include "design/design_by_name.hpp"
#include "design/grid_file.hpp"
#include "design/placement.hpp"
#include "errors/user_error.hpp"
#include "sheet/burn_page.hpp"
#include "shop/burn_time.hpp"
#include "surface/physical_setting.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"
#include "version.hpp"

namespace frostcal::choice {

using design::PlannedSwatch;
using design::Role;
using errors::Fault;
using errors::UserError;

namespace {

// With fewer swatches than this a further bottle costs more in burns than its spread teaches; a judgement.
constexpr int kSwatchesWorthABottle = 6;

shop::SteppedRange narrow(const shop::SteppedRange& dial,
                          const std::optional<std::pair<double, double>>& wanted, const std::string& option,
                          const shop::Machine& machine) {
  if (!wanted) return dial;
  std::vector<double> values = dial.values();
  values.erase(std::remove_if(values.begin(), values.end(),
                              [&](double value) {
                                return value < wanted->first - 1e-9 || value > wanted->second + 1e-9;
                              }),
               values.end());
  if (values.empty()) {
    throw UserError(
        Fault{{"", 0, 0, "--" + option},
              textfile::format_number(wanted->first) + ":" + textfile::format_number(wanted->second),
              "a part of " + textfile::format_number(dial.min) + ":" + textfile::format_number(dial.max) +
                  " in steps of " + textfile::format_number(dial.step),
              "those are the values that machine " + machine.name + " accepts"});
  }
  return {values.front(), values.back(), dial.step};
}

std::string grid_name(int number, const std::string& glass) {
  std::string digits = std::to_string(number);
  if (digits.size() < 4) digits.insert(0, 4 - digits.size(), '0');
  return digits + '-' + glass;
}

// To whole seconds, from a minute on to tenths of a minute.
double rounded_up(double seconds) {
  return seconds < 60 ? std::ceil(seconds) : 6 * std::ceil(seconds / 6);
}

std::string spent_text(double seconds) {
  const double shown = rounded_up(seconds);
  if (shown < 60) return textfile::counted(std::lround(shown), "second", "seconds");
  return textfile::format_number(shown / 60) + " minutes";
}

UserError no_time(double most_seconds, const std::string& needed) {
  return UserError(Fault{{"", 0, 0, "--spend"},
                         spent_text(most_seconds),
                         needed,
                         "allow more time or ask for a smaller --size"});
}

// The reference swatch that was asked for; its burning time is taken off what may be spent.
std::optional<PlannedSwatch> plan_reference(PlannedGrid& plan, GridRequest& request,
                                            const surface::ShopEvidence& evidence,
                                            const surface::ShopSurface& surfaces,
                                            const shop::Machine& machine, const shop::Machine& allowed) {
  if (!request.reference) return std::nullopt;
  const auto reference =
      reference_swatch(evidence, surfaces, request.glass, machine, allowed, request.in_force);
  if (!reference) return std::nullopt;
  plan.reference = reference->reason;
  if (request.spend.seconds > 0) {
    const double side = request.swatch_mm;
    request.spend.set_aside_seconds +=
        shop::raster_time(side, side, reference->swatch.setting, machine).seconds;
    if (request.spend.seconds_for_swatches() <= 0)
      throw no_time(request.spend.seconds, "time for the reference and at least one swatch");
  }
  return reference->swatch;
}

std::vector<PlannedSwatch> with_role(const std::vector<shop::Setting>& settings, Role role) {
  std::vector<PlannedSwatch> planned;
  for (const shop::Setting& setting : settings) planned.push_back({setting, role});
  return planned;
}

std::vector<shop::Setting> distinct(const std::vector<shop::Setting>& settings) {
  std::vector<shop::Setting> kept;
  for (const shop::Setting& setting : settings) {
    if (shop::find_setting(kept.begin(), kept.end(), setting) == kept.end()) kept.push_back(setting);
  }
  return kept;
}

// Marks what repeats an earlier swatch or one of this grid, and what stands at the present best setting.
void name_roles(std::vector<PlannedSwatch>& planned, const surface::ShopEvidence& evidence,
                const GridRequest& request, const std::optional<shop::Setting>& best) {
  std::vector<shop::Setting> seen;
  for (const surface::GradedGrid& graded : evidence.grids) {
    if (graded.grid.glass != request.glass || graded.grid.machine != request.machine) continue;
    for (const design::Swatch& swatch : graded.grid.swatches) seen.push_back(swatch.setting);
  }
  for (PlannedSwatch& swatch : planned) {
    if (best && shop::same_setting(swatch.setting, *best)) {
      swatch.role = Role::confirm;
    } else if (shop::find_setting(seen.begin(), seen.end(), swatch.setting) != seen.end()) {
      swatch.role = Role::repeat;
    }
    seen.push_back(swatch.setting);
  }
}

bool has_free_size(const std::string& design) {
  return design == "targeted" || design::has_free_size(design);
}

[[noreturn]] void refuse(const std::string& option, const std::string& found, const std::string& expected,
                         const std::string& remedy) {
  throw UserError(Fault{{"", 0, 0, option}, found, expected, remedy});
}

// Swatches that a design of any size gets for what may be spent; the time is the design's own to keep.
void settle_swatches(GridRequest& request, const std::string& design, int places, bool reference,
                     PlannedGrid& plan) {
  const Spending& spend = request.spend;
  if (spend.swatches > 0 && request.swatches > spend.swatches)
    refuse("--swatches", std::to_string(request.swatches),
           "at most " + std::to_string(spend.swatches) + ", which --spend allows", "leave one of them out");
  if (spend.bottles > 0 && request.bottles > spend.bottles)
    refuse("--bottles", std::to_string(request.bottles),
           "at most " + std::to_string(spend.bottles) + ", which --spend allows", "leave one of them out");
  if (!spend.any() || request.swatches > 0 || !has_free_size(design)) return;
  const int most = design == "targeted" ? kMostAtOnce : kMostAtOnce / 2;
  const int set_aside = reference ? 1 : 0;
  request.swatches = spend.swatches > 0 ? spend.swatches - set_aside : most;
  const int room = spend.bottles * places - set_aside;
  if (room > 0) request.swatches = std::min(request.swatches, room);
  if (request.swatches < 1)
    refuse("--spend", "1 swatch", "at least 2 with --reference", "allow more or leave out --reference");
  plan.held_back = spend.swatches == 0 && request.swatches == most;
}

// Bottles for what may be spent, once the swatches are known.
void settle_bottles(GridRequest& request, const std::string& design, int swatches, int places) {
  const Spending& spend = request.spend;
  if (spend.swatches > 0 && swatches > spend.swatches)
    refuse("--spend", std::to_string(spend.swatches) + " swatches",
           "at least " + std::to_string(swatches) + " for the design " + design,
           "allow more, or let the planner choose the design");
  if (spend.bottles == 0 || places == 0) return;
  const int needed = std::max(request.bottles, (swatches + places - 1) / places);
  if (needed > spend.bottles)
    refuse("--spend", std::to_string(spend.bottles) + (spend.bottles == 1 ? " bottle" : " bottles"),
           "at least " + std::to_string(needed) + " for " + std::to_string(swatches) +
               " swatches, as one takes " + std::to_string(places),
           "allow more, or ask for fewer swatches or a smaller --size");
  if (request.bottles == 0)
    request.bottles = std::clamp(swatches / kSwatchesWorthABottle, needed, spend.bottles);
}

// Confirming swatches lie on different bottles as far as there are several.
void part_confirming(std::vector<PlannedSwatch>& planned, int confirming, int bottles) {
  for (int i = 0; i < confirming && bottles > 1; ++i)
    planned[static_cast<std::size_t>(i)].bottle = i % bottles;
}

std::string reason_of(const std::string& design, bool known) {
  if (design == "spread")
    return known ? "settings spread evenly, as asked"
                 : "nothing is known of this glass: settings spread evenly, densest in dose";
  if (design == "lattice") return "a full lattice, as asked, at one dpi unless --dpi names more";
  if (design == "optimal") return "least mean prediction variance of a second-order surface, as asked";
  if (design == "optimal-d") return "largest determinant for a second-order surface, as asked";
  if (design == "split-plot") return "least mean prediction variance with one dpi to a burn, as asked";
  return "the published design, as asked, laid over the ranges in logs";
}

std::string targeted_reason(const EvidenceCount& count, bool others_known, const shop::Machine& machine) {
  if (count.swatches > 0) return "settings that most reduce the doubt about the best one";
  const std::string none = "nothing of this glass is graded on " + machine.name + " yet: ";
  const std::string doubt = "settings that most reduce the doubt ";
  if (count.pieces > 0)
    return none + doubt + "that its pieces" + (others_known ? " and the other grades" : "") + " leave";
  return none + doubt + (others_known ? "that the other grades leave" : "about the best one, as asked");
}

void plan_by_surface(PlannedGrid& plan, std::vector<PlannedSwatch>& planned, const shop::Shop& shop,
                     const surface::ShopEvidence& evidence, const surface::ShopSurface& surfaces,
                     const EvidenceCount& count, const GridRequest& request, const shop::Machine& machine,
                     const shop::Machine& allowed, const Progress& progress) {
  const std::string name = surface::surface_name(request.glass, request.machine);
  const surface::GlassSurface& surface = surfaces.glass(name);
  TargetedOptions options;
  options.swatches = request.swatches > 0 ? request.swatches : kTargetedSwatches;
  options.most_dpi = kMostTargetedDpiValues;
  options.seed = request.seed;
  options.progress = progress;
  options.most_seconds = request.spend.seconds_for_swatches();
  options.swatch_mm = request.swatch_mm;
  const std::vector<RankedSetting> ranked = rank_settings(
      allowed,
      [&](const std::vector<surface::PhysicalSetting>& settings) { return surface.scan_chance(settings); });
  std::optional<shop::Setting> best;
  if (!ranked.empty()) best = ranked.front().setting;
  if (best && count.swatches >= kGradedToConfirm)
    options.first.assign(options.swatches >= kSwatchesToConfirmTwice ? 2u : 1u, *best);
  plan.expectation = plan_targeted(surface, machine, allowed, shop.acceptance.chance, options);
  plan.targeted = true;
  if (plan.expectation.settings.empty() && request.spend.seconds > 0)
    throw no_time(request.spend.seconds, "time for at least one swatch");
  if (static_cast<int>(plan.expectation.settings.size()) < options.swatches) plan.held_back = false;
  planned = with_role(plan.expectation.settings, Role::design);
  name_roles(planned, evidence, request, best);
  plan.leaning =
      leaning_on_others(shop, evidence, surfaces, name, machine, distinct(plan.expectation.settings));
  plan.stop = plan.expectation.stop();
}

std::vector<PlannedSwatch> plan_opening(PlannedGrid& plan, GridRequest& request, const std::string& design,
                                        const shop::Machine& machine, const shop::Machine& allowed) {
  const std::vector<std::string>& opening = design::opening_designs();
  if (std::find(opening.begin(), opening.end(), design) == opening.end()) {
    std::vector<std::string> known = opening;
    known.insert(known.begin(), "targeted");
    const std::string near = errors::nearest(design, known);
    refuse("--design", errors::quoted(design), "one of " + textfile::joined(known),
           near.empty() ? "" : "did you mean " + near + "?");
  }
  shop::Machine offered = allowed;
  // A burn for every dpi of the machine is more than anyone means by a lattice.
  if (design == "lattice" && request.dpi.empty()) offered.dpi = {allowed.dpi[(allowed.dpi.size() - 1) / 2]};
  design::DesignRequest wanted;
  wanted.name = design;
  wanted.swatches = request.swatches;
  wanted.bottles = request.bottles;
  if (request.bottles == 0 && request.spend.bottles == 1) wanted.bottles = 1;
  wanted.dpi_values = kMostDpiValues;
  wanted.levels = request.levels;
  wanted.seed = request.seed;
  wanted.most_seconds = request.spend.seconds_for_swatches();
  wanted.swatch_mm = request.swatch_mm;
  const design::OpeningDesign made = design::opening_design(machine, offered, wanted);
  if (request.bottles == 0) request.bottles = made.bottles;
  if (static_cast<int>(made.swatches.size()) < request.swatches) plan.held_back = false;
  return made.swatches;
}

// Says why a grid has fewer swatches than asked for; the reference isn't counted.
void name_shortfall(PlannedGrid& plan, const GridRequest& given, const GridRequest& settled,
                    const std::string& design, int planned, const shop::Machine& machine) {
  if (!has_free_size(design)) return;
  const bool timed = given.spend.seconds > 0;
  if (timed && given.swatches == 0) return;  // as many as the time allows is what was asked for
  const int usual = plan.targeted ? kTargetedSwatches : design == "spread" ? design::kOpeningSwatches : 0;
  const int wanted = settled.swatches > 0 ? settled.swatches : usual;
  if (planned >= wanted) return;
  plan.wanted = wanted;
  const bool limited = machine.dose_limit_j_mm2 > 0;
  if (timed)
    plan.fewer_because = "the time that may be spent allows no more";
  else if (plan.targeted)
    plan.fewer_because =
        "no setting is burned more than " + textfile::counted(TargetedOptions().most_alike, "time", "times") +
        " nor more than " + std::to_string(kMostTargetedDpiValues) + " dpi in one grid, and the ranges" +
        (limited ? " and the dose limit" : "") + " leave no more settings";
  else
    plan.fewer_because =
        std::string("the ranges") + (limited ? " and the dose limit" : "") + " leave no more settings";
}

}  // namespace

shop::Machine narrowed(const shop::Machine& machine, const GridRequest& request) {
  shop::Machine allowed = machine;
  allowed.power_pct = narrow(machine.power_pct, request.power_pct, "power", machine);
  allowed.speed_pct = narrow(machine.speed_pct, request.speed_pct, "speed", machine);
  allowed.tone_pct = narrow(machine.tone_pct, request.tone_pct, "tone", machine);
  if (!request.dpi.empty()) {
    for (const int dpi : request.dpi) {
      if (std::find(machine.dpi.begin(), machine.dpi.end(), dpi) == machine.dpi.end()) {
        std::vector<std::string> known;
        for (const int one : machine.dpi) known.push_back(std::to_string(one));
        throw UserError(Fault{{"", 0, 0, "--dpi"},
                              std::to_string(dpi),
                              "some of " + textfile::joined(known),
                              "those are the dpi of machine " + machine.name + " in shop.toml"});
      }
    }
    allowed.dpi = request.dpi;
    std::sort(allowed.dpi.begin(), allowed.dpi.end());
    allowed.dpi.erase(std::unique(allowed.dpi.begin(), allowed.dpi.end()), allowed.dpi.end());
  }
  return allowed;
}

namespace {

PlannedGrid planned_once(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                         const surface::ShopSurface& surfaces, const GridRequest& given,
                         const std::string& now, const Progress& progress) {
  GridRequest request = given;
  const shop::Glass& glass = shop.glass(request.glass);
  const shop::Machine& machine = shop.machine_or_default(request.machine);
  request.machine = machine.name;
  const shop::Vessel& vessel = shop.vessel(request.vessel.empty() ? glass.vessel : request.vessel);
  const shop::Machine allowed = narrowed(machine, request);
  const std::string name = surface::surface_name(request.glass, machine.name);
  const EvidenceCount count = count_evidence(evidence, name);
  const bool known_here = count.swatches + count.pieces > 0;

  const std::vector<std::string> known = surfaces.glasses();
  const bool others_known =
      std::any_of(known.begin(), known.end(), [&](const std::string& other) { return other != name; });
  std::string design = request.design;
  if (design.empty()) design = known_here || others_known ? "targeted" : "spread";

  PlannedGrid plan;
  const std::optional<PlannedSwatch> reference =
      plan_reference(plan, request, evidence, surfaces, machine, allowed);
  std::vector<PlannedSwatch> planned;
  design::PlacementOptions placement;
  placement.swatch_mm = request.swatch_mm;
  placement.seed = request.seed;
  placement.units = shop.units;
  const int places = design::bottle_capacity(machine, vessel, placement);
  settle_swatches(request, design, places, reference.has_value(), plan);
  if (design == "targeted") {
    if (count.swatches == 0 && request.swatches == 0) request.swatches = design::kOpeningSwatches;
    plan_by_surface(plan, planned, shop, evidence, surfaces, count, request, machine, allowed, progress);
    plan.reason = targeted_reason(count, others_known, machine);
  } else {
    planned = plan_opening(plan, request, design, machine, allowed);
    plan.reason = reason_of(design, known_here);
  }
  if (planned.empty()) {
    refuse("machine", "no setting that machine " + machine.name + " may burn",
           "some setting below its dose limit", "raise dose_limit_j_mm2 or widen the ranges");
  }
  name_shortfall(plan, given, request, design, static_cast<int>(planned.size()), machine);
  if (reference) planned.push_back(*reference);
  const int swatches = static_cast<int>(planned.size());
  if (swatches > kMostSwatches)
    refuse(design == "lattice" ? "--levels" : "--swatches", std::to_string(swatches) + " swatches",
           "at most " + std::to_string(kMostSwatches) + " in one grid", "plan several smaller grids");
  if (request.bottles > swatches)
    refuse("--bottles", std::to_string(request.bottles),
           "at most " + std::to_string(swatches) + ", a swatch or more on each bottle",
           "ask for fewer bottles or more swatches");
  settle_bottles(request, design, swatches, places);
  const std::vector<design::ScrapBottle> bottles =
      pick_bottles(shop, evidence, {request.glass, request.bottles, request.new_bottle}, machine, vessel,
                   swatches, placement);
  part_confirming(planned, plan.expectation.confirming, static_cast<int>(bottles.size()));
  design::Grid& grid = plan.grid;
  grid.number = design::next_number(shop);
  grid.id = grid_name(grid.number, request.glass);
  grid.glass = request.glass;
  grid.machine = machine.name;
  grid.vessel = vessel.name;
  grid.design = design;
  grid.seed = request.seed;
  grid.tool_version = kVersion;
  grid.planned_at = now;
  grid.planned_for = design::planned_for(machine, vessel);
  grid.swatches = design::place_swatches(planned, bottles, machine, vessel, placement);
  return plan;
}

// Of two grids within the same time: the one that is expected to teach more.
bool teaches_more(const PlannedGrid& one, const PlannedGrid& other) {
  if (one.targeted && other.targeted) return one.expectation.expected_gain > other.expectation.expected_gain;
  return one.grid.swatches.size() > other.grid.swatches.size();
}

// What ids, marks and common scan lines add is known once a grid is drawn, and it does not grow evenly with
// the swatches. So the time left to the swatches is sought between the longest with which a drawn grid kept
// within the bound, or else with which none could be planned, and the shortest with which one did not.
class TimeSearch {
 public:
  TimeSearch(double most_seconds, double first) : most_(most_seconds), left_(first), too_much_(first) {}

  // The time to plan a grid for, and what came of it.
  double left() const { return left_; }
  void drew(double burn_seconds) {
    last_seconds_ = burn_seconds;
    (burn_seconds > most_ ? too_much_ : enough_) = left_;
    advance(burn_seconds <= most_ && burn_seconds > kUsed * most_);
  }
  void drew_nothing() {
    nothing_ = left_;
    advance(false);
  }
  bool done() const { return done_; }

 private:
  static constexpr int kMostTries = 12;
  static constexpr double kUsed = 0.9;    // of the time: as good as all of it
  static constexpr double kNarrow = 1.1;  // bounds this near to one another hide nothing worth another try

  void advance(bool used) {
    const double low = std::max(enough_, nothing_);
    done_ = used || ++tries_ >= kMostTries || (low > 0 && too_much_ < kNarrow * low);
    left_ = low > 0 ? (low + too_much_) / 2 : too_much_ * std::min(0.9, most_ / last_seconds_);
  }

  double most_;
  double left_;
  double too_much_;     // with so much a grid took too long
  double enough_ = 0;   // with so much one kept within the bound
  double nothing_ = 0;  // into so much not one swatch goes
  double last_seconds_ = 0;
  int tries_ = 0;
  bool done_ = false;
};

struct TimedPlan {
  std::optional<PlannedGrid> plan;  // where one kept within the time
  double shortest_seconds = 0;      // else of the shortest grid that was drawn
  std::size_t shortest_swatches = 0;
};

TimedPlan plan_within(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                      const surface::ShopSurface& surfaces, const GridRequest& given, const std::string& now,
                      std::optional<sheet::SheetOptions>& options, const Progress& progress) {
  const double most = given.spend.seconds;
  const auto drawn = [&](double left) {
    GridRequest request = given;
    request.spend.set_aside_seconds = most - left;
    PlannedGrid plan = planned_once(shop, evidence, surfaces, request, now, progress);
    if (!options) options = sheet_options(shop, plan.grid, evidence);
    plan.sheets = sheet::burn_sheets(shop, plan.grid, *options);
    plan.burn_seconds = sheet::burn_seconds(plan.sheets);
    return plan;
  };
  TimeSearch search(most, given.spend.seconds_for_swatches());
  TimedPlan found;
  PlannedGrid plan = drawn(search.left());
  if (most <= 0 || plan.burn_seconds <= most) {
    found.plan = std::move(plan);
    return found;
  }
  found.shortest_seconds = plan.burn_seconds;
  found.shortest_swatches = plan.grid.swatches.size();
  search.drew(plan.burn_seconds);
  while (!search.done()) {
    try {
      plan = drawn(search.left());
    } catch (const UserError&) {
      search.drew_nothing();
      continue;
    }
    search.drew(plan.burn_seconds);
    if (plan.burn_seconds < found.shortest_seconds) {
      found.shortest_seconds = plan.burn_seconds;
      found.shortest_swatches = plan.grid.swatches.size();
    }
    if (plan.burn_seconds <= most && (!found.plan || teaches_more(plan, *found.plan)))
      found.plan = std::move(plan);
  }
  return found;
}

}  // namespace

PlannedGrid plan_grid(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                      const surface::ShopSurface& surfaces, const GridRequest& given, const std::string& now,
                      const Progress& progress) {
  std::optional<sheet::SheetOptions> options;  // the same for every size
  TimedPlan made = plan_within(shop, evidence, surfaces, given, now, options, progress);
  if (made.plan) return *std::move(made.plan);
  // The search for a longer time takes another way, so what is named is tried.
  constexpr int kMostTimes = 8;
  GridRequest longer = given;
  longer.spend.seconds = rounded_up(made.shortest_seconds);
  for (int i = 0; i < kMostTimes; ++i) {
    const TimedPlan tried = plan_within(shop, evidence, surfaces, longer, now, options, {});
    if (tried.plan) break;
    made = tried;
    longer.spend.seconds = rounded_up(std::max(made.shortest_seconds, longer.spend.seconds + 1));
  }
  throw no_time(given.spend.seconds, "at least " + spent_text(longer.spend.seconds) + ", which " +
                                         textfile::counted(static_cast<int>(made.shortest_swatches),
                                                           "swatch takes", "swatches take") +
                                         " with ids and marks");
}

}  // namespace frostcal::choice
