#include "choice/next_grid.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "choice/best_setting.hpp"
#include "choice/reference_swatch.hpp"
#include "design/design_by_name.hpp"
#include "design/grid_file.hpp"
#include "errors/user_error.hpp"
#include "shop/burn_time.hpp"
#include "surface/physical_setting.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"
#include "version.hpp"

namespace frostcal::choice {

using design::PlannedSwatch;
using design::Role;
using design::ScrapBottle;
using errors::Fault;
using errors::UserError;

namespace {

// A glass is burned on this many bottles before free places on old ones are used: the spread between bottles
// has to be seen, and a bottle is cheap against a wrong setting.
constexpr int kBottlesWanted = 3;

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

// Bottles of a glass and vessel that earlier grids burned on, in order of first use.
std::vector<ScrapBottle> shelf(const surface::ShopEvidence& evidence, const std::string& glass,
                               const std::string& vessel) {
  std::vector<ScrapBottle> bottles;
  for (const surface::GradedGrid& graded : evidence.grids) {
    if (graded.grid.glass != glass || graded.grid.vessel != vessel) continue;
    for (const design::Swatch& swatch : graded.grid.swatches) {
      auto found = std::find_if(bottles.begin(), bottles.end(),
                                [&](const ScrapBottle& bottle) { return bottle.name == swatch.bottle; });
      if (found == bottles.end()) {
        bottles.push_back({swatch.bottle, {}});
        found = bottles.end() - 1;
      }
      found->taken.push_back(swatch);
    }
  }
  return bottles;
}

std::string new_bottle_name(const surface::ShopEvidence& evidence, const std::string& glass, int after) {
  std::set<std::string> names;
  for (const surface::GradedGrid& graded : evidence.grids) {
    for (const std::string& name : graded.grid.bottles()) names.insert(name);
  }
  int number = after + 1;
  while (names.count(glass + '-' + std::to_string(number)) != 0) ++number;
  return glass + '-' + std::to_string(number);
}

// `count` bottles: new ones until the glass has been burned on enough, then the shelved ones with most room.
std::vector<ScrapBottle> pick_bottles(const surface::ShopEvidence& evidence, const GridRequest& request,
                                      const shop::Machine& machine, const shop::Vessel& vessel, int swatches,
                                      const design::PlacementOptions& placement) {
  std::vector<ScrapBottle> shelved = shelf(evidence, request.glass, vessel.name);
  const int fresh_room = design::bottle_capacity(machine, vessel, placement);
  int count = request.bottles;
  if (count == 0) count = fresh_room > 0 ? (swatches + fresh_room - 1) / fresh_room : 1;
  std::vector<ScrapBottle> picked;
  const bool enough_seen = static_cast<int>(shelved.size()) >= kBottlesWanted && !request.new_bottle;
  if (enough_seen) {
    std::stable_sort(shelved.begin(), shelved.end(), [&](const ScrapBottle& a, const ScrapBottle& b) {
      return a.taken.size() < b.taken.size();
    });
    const int share = (swatches + count - 1) / count;
    for (const ScrapBottle& bottle : shelved) {
      if (static_cast<int>(picked.size()) < count &&
          design::bottle_capacity(machine, vessel, placement, bottle.taken) >= share) {
        picked.push_back(bottle);
      }
    }
  }
  int after = 0;
  while (static_cast<int>(picked.size()) < count) {
    const std::string name = new_bottle_name(evidence, request.glass, after);
    after = std::stoi(name.substr(name.rfind('-') + 1));
    picked.push_back({name, {}});
  }
  return picked;
}

int next_number(const shop::Shop& shop) {
  int number = 0;
  for (const std::string& id : design::grid_ids(shop)) number = std::max(number, std::stoi(id));
  return number + 1;
}

UserError no_time(double most_seconds, const std::string& needed) {
  return UserError(Fault{{"", 0, 0, "--spend"},
                         textfile::format_number(most_seconds / 60) + " minutes",
                         needed,
                         "allow more time or ask for a smaller --size"});
}

// Drops swatches from the end, the least useful ones, until the burn time fits.
void keep_within(std::vector<PlannedSwatch>& planned, double most_seconds, double swatch_mm,
                 const shop::Machine& machine) {
  if (most_seconds <= 0) return;
  double seconds = 0;
  std::size_t kept = 0;
  for (; kept < planned.size(); ++kept) {
    seconds += shop::raster_time(swatch_mm, swatch_mm, planned[kept].setting, machine).seconds;
    if (seconds > most_seconds) break;
  }
  if (kept == 0) throw no_time(most_seconds, "time for at least one swatch");
  planned.resize(kept);
}

// The reference swatch that was asked for; its burning time is taken off what may be spent.
std::optional<PlannedSwatch> plan_reference(PlannedGrid& plan, GridRequest& request,
                                            const surface::ShopEvidence& evidence,
                                            const shop::Machine& machine, const shop::Machine& allowed) {
  if (!request.reference) return std::nullopt;
  const auto reference = reference_swatch(evidence, request.glass, machine, allowed, request.in_force);
  if (!reference) return std::nullopt;
  plan.reference = reference->reason;
  if (request.most_seconds > 0) {
    const double side = request.swatch_mm;
    const double left =
        request.most_seconds - shop::raster_time(side, side, reference->swatch.setting, machine).seconds;
    if (left <= 0) throw no_time(request.most_seconds, "time for the reference and at least one swatch");
    request.most_seconds = left;
  }
  return reference->swatch;
}

std::vector<PlannedSwatch> with_role(const std::vector<shop::Setting>& settings, Role role) {
  std::vector<PlannedSwatch> planned;
  for (const shop::Setting& setting : settings) planned.push_back({setting, role});
  return planned;
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
    if (best && swatch.setting == *best) {
      swatch.role = Role::confirm;
    } else if (std::find(seen.begin(), seen.end(), swatch.setting) != seen.end()) {
      swatch.role = Role::repeat;
    }
    seen.push_back(swatch.setting);
  }
}

int graded_swatches(const surface::ShopEvidence& evidence, const std::string& name) {
  std::set<std::string> swatches;
  for (const surface::Observation& seen : evidence.observations) {
    if (seen.glass == name) swatches.insert(seen.swatch);
  }
  return static_cast<int>(swatches.size());
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

void plan_by_surface(PlannedGrid& plan, std::vector<PlannedSwatch>& planned, const shop::Shop& shop,
                     const surface::ShopEvidence& evidence, const surface::ShopSurface& surfaces,
                     const GridRequest& request, const shop::Machine& machine, const shop::Machine& allowed,
                     const Progress& progress) {
  const std::string name = surface::surface_name(request.glass, request.machine);
  const surface::GlassSurface& surface = surfaces.glass(name);
  TargetedOptions options;
  options.swatches = request.swatches > 0 ? request.swatches : kTargetedSwatches;
  options.most_dpi = kMostTargetedDpiValues;
  options.seed = request.seed;
  options.progress = progress;
  plan.expectation = plan_targeted(surface, machine, allowed, shop.acceptance.chance, options);
  plan.targeted = true;
  planned = with_role(plan.expectation.settings, Role::design);
  const std::vector<RankedSetting> ranked = rank_settings(
      allowed,
      [&](const std::vector<surface::PhysicalSetting>& settings) { return surface.scan_chance(settings); });
  std::optional<shop::Setting> best;
  if (!ranked.empty()) best = ranked.front().setting;
  name_roles(planned, evidence, request, best);
  plan.stop = plan.expectation.expected_gain < kWorthwhileGain || plan.expectation.share_reaching < kHopeless;
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

PlannedGrid plan_grid(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                      const surface::ShopSurface& surfaces, const GridRequest& given, const std::string& now,
                      const Progress& progress) {
  GridRequest request = given;
  const shop::Glass& glass = shop.glass(request.glass);
  const shop::Machine& machine = shop.machine_or_default(request.machine);
  request.machine = machine.name;
  const shop::Vessel& vessel = shop.vessel(request.vessel.empty() ? glass.vessel : request.vessel);
  const shop::Machine allowed = narrowed(machine, request);
  const std::string name = surface::surface_name(request.glass, machine.name);
  const int graded = graded_swatches(evidence, name);

  PlannedGrid plan;
  const std::optional<PlannedSwatch> reference = plan_reference(plan, request, evidence, machine, allowed);
  std::vector<PlannedSwatch> planned;
  std::string design = request.design;
  for (const std::string& other : surfaces.glasses()) {
    if (other != name) plan.leaned_on.push_back(other.substr(0, other.find('@')));
  }
  const bool others_known = !plan.leaned_on.empty();
  if (design.empty()) design = graded > 0 || others_known ? "targeted" : "spread";
  const std::vector<std::string>& opening = design::opening_designs();
  if (design == "targeted") {
    if (graded == 0 && request.swatches == 0) request.swatches = kOpeningSwatches;
    plan_by_surface(plan, planned, shop, evidence, surfaces, request, machine, allowed, progress);
    plan.reason =
        graded == 0 ? "no swatch of this glass is graded yet: settings where the other glasses' grades leave "
                      "most doubt about the best one"
                    : "settings that most reduce the doubt about the best one";
  } else if (std::find(opening.begin(), opening.end(), design) != opening.end()) {
    shop::Machine offered = allowed;
    // A burn for every dpi of the machine is more than anyone means by a lattice.
    if (design == "lattice" && request.dpi.empty()) offered.dpi = {allowed.dpi[(allowed.dpi.size() - 1) / 2]};
    const design::OpeningDesign made =
        design::opening_design(machine, offered,
                               {design, request.swatches, request.bottles, kMostDpiValues, request.levels,
                                request.seed, request.most_seconds, request.swatch_mm});
    planned = made.swatches;
    if (request.bottles == 0) request.bottles = made.bottles;
    plan.reason = reason_of(design, graded > 0);
  } else {
    throw UserError(Fault{
        {"", 0, 0, "--design"}, errors::quoted(design), "one of targeted, " + textfile::joined(opening), ""});
  }
  if (planned.empty()) {
    throw UserError(Fault{{"", 0, 0, "machine"},
                          "no setting that machine " + machine.name + " may burn",
                          "some setting below its dose limit",
                          "raise dose_limit_j_mm2 or widen the ranges"});
  }
  if (plan.targeted) keep_within(planned, request.most_seconds, request.swatch_mm, machine);
  if (reference) planned.push_back(*reference);

  design::PlacementOptions placement;
  placement.swatch_mm = request.swatch_mm;
  placement.seed = request.seed;
  const std::vector<ScrapBottle> bottles =
      pick_bottles(evidence, request, machine, vessel, static_cast<int>(planned.size()), placement);
  design::Grid& grid = plan.grid;
  grid.number = next_number(shop);
  grid.id = grid_name(grid.number, request.glass);
  grid.glass = request.glass;
  grid.machine = machine.name;
  grid.vessel = vessel.name;
  grid.design = design;
  grid.seed = request.seed;
  grid.tool_version = kVersion;
  grid.planned_at = now;
  grid.swatches = design::place_swatches(planned, bottles, machine, vessel, placement);
  plan.burn_seconds = design::burn_seconds(grid, machine);
  if (!plan.targeted) plan.leaned_on.clear();
  return plan;
}

}  // namespace frostcal::choice
