#include "sheet/burn_plan.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "design/grid_file.hpp"
#include "design/grid_shop.hpp"
#include "errors/bug.hpp"
#include "errors/user_error.hpp"
#include "sheet/palette.hpp"
#include "sheet/screening.hpp"
#include "shop/setting.hpp"
#include "textfile/open_file.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::sheet {
namespace {

[[noreturn]] void refuse(const shop::Shop& shop, const design::Grid& grid, const std::string& field,
                         const std::string& found, const std::string& expected, const std::string& remedy) {
  throw errors::UserError(errors::Fault{{swatches_file(shop, grid), 0, 0, field}, found, expected, remedy});
}

/// Dose times heat, up to a factor that all recipes of a burn share.
double vigour(const shop::Machine& machine, const shop::Setting& setting) {
  const double power_w = machine.delivered_power_w(setting.power_pct);
  const double speed_mm_s = machine.scan_speed_mm_s(setting.speed_pct);
  return setting.passes * power_w / speed_mm_s * power_w / std::sqrt(speed_mm_s);
}

/// Rows in order of power, speed, passes and tone, so that typing goes up the dials.
void gather_fills(const shop::Shop& shop, const design::Grid& grid, BurnPlan& plan) {
  std::map<std::pair<shop::Recipe, double>, std::vector<std::size_t>> rows;
  for (std::size_t i = 0; i < plan.swatches.size(); ++i) {
    const design::Swatch& swatch = grid.swatches[plan.swatches[i]];
    if (swatch.setting.dpi != plan.dpi)
      refuse(shop, grid, "dpi", swatch.id + " has " + std::to_string(swatch.setting.dpi),
             "one dpi in burn " + std::to_string(plan.burn), "plan the grid again");
    if (swatch.bottle != plan.bottle)
      refuse(shop, grid, "bottle", swatch.id + " on " + errors::quoted(swatch.bottle),
             "one bottle in burn " + std::to_string(plan.burn), "plan the grid again");
    rows[{shop::recipe_of(swatch.setting), swatch.setting.tone_pct}].push_back(i);
  }
  plan.fill_of.resize(plan.swatches.size());
  for (const auto& [key, members] : rows) {
    RecipeFill fill;
    fill.number = static_cast<int>(plan.fills.size()) + 1;
    fill.setting = grid.swatches[plan.swatches[members.front()]].setting;
    for (const std::size_t member : members) {
      fill.swatches.push_back(grid.swatches[plan.swatches[member]].id);
      plan.fill_of[member] = static_cast<int>(plan.fills.size());
    }
    plan.fills.push_back(fill);
  }
}

int recipe_count(const std::vector<RecipeFill>& fills) {
  std::set<shop::Recipe> recipes;
  for (const RecipeFill& fill : fills) recipes.insert(shop::recipe_of(fill.setting));
  return static_cast<int>(recipes.size());
}

shop::Setting solid(shop::Setting setting) {
  setting.tone_pct = 100;
  return setting;
}

/// The recipe for marks, by what it does where it burns solid; of its rows the darkest.
void choose_mark_fill(const shop::Machine& machine, const SheetOptions& options, BurnPlan& plan) {
  constexpr double kAlike = 0.02;  // of `readable`: then the faster one
  constexpr double kSure =
      0.95;  // readable enough: marks of the slowest recipe take longer than its swatches
  std::vector<std::size_t> allowed;
  std::size_t mildest = 0;
  for (std::size_t i = 0; i < plan.fills.size(); ++i) {
    const shop::Setting mark = solid(plan.fills[i].setting);
    if (shop::within_dose_limit(machine, mark)) allowed.push_back(i);
    if (shop::dose_j_mm2(mark, machine) < shop::dose_j_mm2(solid(plan.fills[mildest].setting), machine))
      mildest = i;
  }
  if (allowed.empty()) allowed.push_back(mildest);
  std::vector<double> worth(plan.fills.size());
  for (const std::size_t i : allowed) {
    const shop::Setting mark = solid(plan.fills[i].setting);
    worth[i] = options.readable ? options.readable(mark) : vigour(machine, mark);
  }
  std::size_t chosen = *std::max_element(allowed.begin(), allowed.end(),
                                         [&](std::size_t a, std::size_t b) { return worth[a] < worth[b]; });
  if (options.readable) {
    const double enough = std::min(worth[chosen] - kAlike, kSure);
    for (const std::size_t i : allowed)
      if (worth[i] >= enough && plan.fills[i].setting.speed_pct > plan.fills[chosen].setting.speed_pct)
        chosen = i;
  }
  const shop::Recipe recipe = shop::recipe_of(plan.fills[chosen].setting);
  for (std::size_t i = 0; i < plan.fills.size(); ++i)
    if (shop::recipe_of(plan.fills[i].setting) == recipe &&
        plan.fills[i].setting.tone_pct > plan.fills[chosen].setting.tone_pct)
      chosen = i;
  plan.fills[chosen].marks = true;
}

/// Where the driver screens greys, letters drawn in one would come out as dots: they get a solid row of
/// their own.
void add_solid_marks(const shop::Machine& machine, const Ink& ink, BurnPlan& plan) {
  const auto greyed = std::find_if(plan.fills.begin(), plan.fills.end(), [](const RecipeFill& fill) {
    return fill.marks && fill.setting.tone_pct < 100;
  });
  if (greyed == plan.fills.end() || !shop::within_dose_limit(machine, solid(greyed->setting))) return;
  greyed->marks = false;
  RecipeFill own;
  own.number = static_cast<int>(plan.fills.size()) + 1;
  own.setting = solid(greyed->setting);
  own.ink = ink;
  own.marks = true;
  plan.fills.push_back(own);
}

void require_known_screen(const shop::Shop& shop, const design::Grid& grid, const RecipeFill& fill) {
  if (screen_named(fill.setting.screen)) return;
  refuse(shop, grid, "screen", errors::quoted(fill.setting.screen),
         "one of " + textfile::joined(shop::drawn_screens()),
         "tones in a burn of several recipes are drawn as dots here; choose a screen that can be drawn");
}

void choose_inks(const shop::Shop& shop, const shop::Machine& machine, const design::Grid& grid,
                 const SheetOptions& options, BurnPlan& plan) {
  const int recipes = recipe_count(plan.fills);
  if (recipes > machine.most_recipes())
    refuse(shop, grid, "power_pct", std::to_string(recipes) + " recipes in burn " + std::to_string(plan.burn),
           "at most " + std::to_string(machine.most_recipes()) + " on " + machine.name,
           "plan the grid again, or correct recipes_per_burn or fills in shop.toml");
  std::vector<Ink> inks;
  if (machine.fills.empty()) {
    inks = recipe_inks(recipes);
  } else {
    for (const std::string& text : machine.fills) inks.push_back(ink_from_text(text));
  }
  std::map<shop::Recipe, std::size_t> order;
  for (RecipeFill& fill : plan.fills) {
    const std::size_t index = order.emplace(shop::recipe_of(fill.setting), order.size()).first->second;
    const bool toned = fill.setting.tone_pct < 100;
    fill.ink = inks[index];
    if (toned && recipes == 1 && !options.screen_here) {
      fill.ink = grey(static_cast<std::uint8_t>(std::lround(255 * (1 - fill.setting.tone_pct / 100))));
    } else if (toned) {
      require_known_screen(shop, grid, fill);
      fill.dots_here = true;
    }
  }
  if (recipes == 1 && !options.screen_here) add_solid_marks(machine, inks.front(), plan);
  for (const RecipeFill& fill : plan.fills)
    if (fill.marks) plan.mark_ink = fill.ink;
}

}  // namespace

std::string engraved_id(const design::Grid& grid, const BurnPlan& plan, const std::string& id) {
  return plan.older_bottle ? std::to_string(grid.number) + '-' + id : id;
}

std::string swatches_file(const shop::Shop& shop, const design::Grid& grid) {
  return textfile::shown(design::grid_files(shop, grid.id).swatches_csv);
}

std::vector<BurnPlan> burns_of(const design::Grid& grid, const std::set<std::string>& marked) {
  std::map<int, BurnPlan> burns;
  for (std::size_t i = 0; i < grid.swatches.size(); ++i) {
    const design::Swatch& swatch = grid.swatches[i];
    BurnPlan& plan = burns[swatch.burn];
    if (plan.swatches.empty()) {
      plan.burn = swatch.burn;
      plan.bottle = swatch.bottle;
      plan.dpi = swatch.setting.dpi;
    }
    plan.swatches.push_back(i);
  }
  std::set<std::string> named = marked;
  std::vector<BurnPlan> plans;
  for (auto& [number, plan] : burns) {
    plan.older_bottle = marked.count(plan.bottle) != 0;
    plan.names_bottle = named.insert(plan.bottle).second;
    plans.push_back(std::move(plan));
  }
  return plans;
}

std::vector<BurnPlan> burn_plans(const shop::Shop& shop, const design::Grid& grid,
                                 const SheetOptions& options) {
  const shop::Machine machine = design::machine_as_planned(shop, grid);
  std::set<std::string> marked;
  for (const design::Grid& earlier : options.earlier)
    for (const std::string& bottle : earlier.bottles()) marked.insert(bottle);
  std::vector<BurnPlan> plans = burns_of(grid, marked);
  for (BurnPlan& plan : plans) {
    gather_fills(shop, grid, plan);
    choose_mark_fill(machine, options, plan);
    choose_inks(shop, machine, grid, options, plan);
  }
  return plans;
}

}  // namespace frostcal::sheet
